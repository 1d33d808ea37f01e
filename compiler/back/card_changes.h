/* Inside the cards: what is other than in the revision that the document follows.
   takes   the tail at hand, and the text of what was issued of it then
   gives   the lines that get a bar, and the card that lists what changed
   owns    all in the job's arena
   never   says anything of verdicts: a card calls nothing proved */
#ifndef BACK_CARD_CHANGES_H
#define BACK_CARD_CHANGES_H
#include "back/card.h"
#include "back/change_list.h"

struct CardChanges {
    const Side *from; /* NULL: nothing was issued of this tail then */
    ChangeList list;
    const Item **items; /* with a bar; of what was left out, the line that stands there now */
    size_t n_items;
};

/* NULL: the document follows no revision. */
const CardChanges *card_changes(const BackInput *input);
bool card_changed(const CardChanges *changes, const Item *item);
/* Its title is empty where the document follows none. */
Sheet card_change_sheet(const CardChanges *changes, const BackInput *input);
#endif
