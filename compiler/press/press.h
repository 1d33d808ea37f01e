/* The press: paints drawings with a typeface that it carries.
   takes   a drawing
   gives   PDF or PNG to a sink; the same drawing gives the same bytes
   owns    the faces, from its first use on
   never   asks for anything else: no file, no font of the host, no clock, no locale

   It is a module beside the program, opened when the first card is drawn: what it is linked with would make every start of the
   program several times slower. */
#ifndef PRESS_PRESS_H
#define PRESS_PRESS_H
#include "back/draw.h"

__attribute__((visibility("default"))) extern const Press *startwright_press(void);
#endif
