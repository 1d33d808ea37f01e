#include "tool/outline_list.h"
#include "front/front.h"
#include "tool/page.h"
#include "workspace/library.h"

/* ---- the vocabulary: things of the files that the skeleton uses ---- */

typedef struct {
    const Decl *decl;
    Str name, words; /* words: its title, in small letters, without holes and signs */
} Entry;

typedef struct {
    Arena *arena;
    Job job;
    Names names;
    Sources sources;
    Findings findings;
    VEC(Str) paths; /* files that are used, each once */
    VEC(Entry) entries;
} Vocabulary;

/* Letters and digits as they are, in small letters; everything between them is one blank. What stands in braces is left out. */
static Str bare_words(Arena *arena, Str text) {
    Buf buf = {arena, NULL, 0, 0};
    bool gap = false;
    for (size_t i = 0, depth = 0; i < text.len; i++) {
        char c = text.ptr[i];
        if (c == '{') depth++;
        bool word =
            !depth && ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || (c & 0x80));
        if (c == '}' && depth) depth--;
        if (!word) {
            gap = buf.len > 0;
            continue;
        }
        if (gap) buf_char(&buf, ' ');
        gap = false;
        buf_char(&buf, c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c);
    }
    return buf_view(&buf);
}

static void use_path(Vocabulary *v, Str path) {
    for (size_t i = 0; i < v->paths.n; i++)
        if (str_eq(v->paths.at[i], path)) return;
    vec_push(v->arena, &v->paths, path);
}

static bool is_thing(const Decl *decl) {
    return decl->kind == DECL_CONTROL || decl->kind == DECL_SCENE || decl->kind == DECL_GAUGE ||
           decl->kind == DECL_LIGHT || decl->kind == DECL_CALL || decl->kind == DECL_BRIEFING;
}

static void read_words(Vocabulary *v, const LibraryFile *file) {
    const Source *source = source_add(&v->sources, str_of(file->path), (Str){file->text, file->len}, true);
    if (!source) return;
    for (const Decl *decl = parse_file(&v->job, source)->first; decl; decl = decl->next) {
        if (decl->kind == DECL_USE) use_path(v, name_text(&v->names, decl->name.name));
        if (!is_thing(decl)) continue;
        Entry entry = {decl, name_text(&v->names, decl->name.name),
                       bare_words(v->arena, text_raw(&v->job, decl->text))};
        vec_push(v->arena, &v->entries, entry);
    }
}

static Vocabulary *read_vocabulary(Arena *arena, const Skeleton *skeleton) {
    Vocabulary *v = ARENA_NEW(arena, Vocabulary);
    v->arena = v->sources.arena = v->findings.arena = arena;
    names_open(&v->names, arena);
    v->findings.names = &v->names;
    v->job = (Job){arena, &v->names, &v->sources, &v->findings};
    for (size_t at = 0; at < skeleton->uses.len;) {
        Str line = page_next_line(skeleton->uses, &at);
        if (str_starts(line, STR("use "))) use_path(v, str_slice(line, 4, line.len));
    }
    for (size_t i = 0; i < v->paths.n; i++)
        for (size_t k = 0; k < library_file_count; k++)
            if (str_eq(v->paths.at[i], str_of(library_files[k].path))) read_words(v, &library_files[k]);
    return v;
}

/* ---- lines of the list ---- */

static Str trim(Str text) {
    while (text.len && (text.ptr[0] == ' ' || text.ptr[0] == '\t')) text = str_slice(text, 1, text.len);
    while (text.len &&
           (text.ptr[text.len - 1] == ' ' || text.ptr[text.len - 1] == '\t' || text.ptr[text.len - 1] == '\r'))
        text.len--;
    return text;
}

/* "3.", "3)", "-", "*", "[ ]" before a line. */
static Str without_bullet(Str line) {
    size_t digits = 0;
    while (digits < line.len && line.ptr[digits] >= '0' && line.ptr[digits] <= '9') digits++;
    if (digits && digits + 1 < line.len && (line.ptr[digits] == '.' || line.ptr[digits] == ')'))
        return trim(str_slice(line, digits + 1, line.len));
    if (str_starts(line, STR("[ ]"))) return trim(str_slice(line, 3, line.len));
    if (line.len > 1 && (line.ptr[0] == '-' || line.ptr[0] == '*') && line.ptr[1] == ' ')
        return trim(str_slice(line, 1, line.len));
    return line;
}

static const char *const partings[] = {"\t", ";", "…", " – ", " — ", "..", " - ", "  ", ":"};

static size_t find(Str text, Str what) {
    for (size_t i = 0; i + what.len <= text.len; i++)
        if (str_eq(str_slice(text, i, i + what.len), what)) return i;
    return text.len;
}

/* A cell of CSV at *at, which moves behind its comma; quotes are undone. */
static Str csv_cell(Arena *arena, Str line, size_t *at, char comma) {
    Buf cell = {arena, NULL, 0, 0};
    bool quoted = false;
    for (; *at < line.len; ++*at) {
        char c = line.ptr[*at];
        if (c == '"') {
            if (quoted && *at + 1 < line.len && line.ptr[*at + 1] == '"') {
                buf_char(&cell, '"');
                ++*at;
            } else {
                quoted = !quoted;
            }
        } else if (c == comma && !quoted) {
            break;
        } else {
            buf_char(&cell, c);
        }
    }
    if (*at < line.len) ++*at;
    return trim(buf_view(&cell));
}

typedef struct {
    Str thing, state;
} Listed;

/* The first cell with words is the thing, all behind it the state. */
static Listed split_csv(Arena *arena, Str line) {
    Listed out = {STR(""), STR("")};
    Buf state = {arena, NULL, 0, 0};
    char comma = find(line, STR(",")) < line.len ? ',' : find(line, STR(";")) < line.len ? ';' : '\t';
    for (size_t at = 0; at < line.len;) {
        Str cell = csv_cell(arena, line, &at, comma);
        if (!cell.len) continue;
        if (!out.thing.len) {
            out.thing = without_bullet(cell);
        } else {
            if (state.len) buf_text(&state, ", ");
            buf_str(&state, cell);
        }
    }
    out.state = buf_view(&state);
    return out;
}

static Listed split_text(Str line) {
    for (size_t i = 0; i < sizeof partings / sizeof *partings; i++) {
        Str parting = str_of(partings[i]);
        size_t at = find(line, parting), end = at + parting.len;
        if (at == line.len || !at) continue;
        while (end < line.len && (line.ptr[end] == '.' || line.ptr[end] == ' ' || line.ptr[end] == '\t')) end++;
        while (str_starts(str_slice(line, end, line.len), STR("…"))) end += 3;
        return (Listed){trim(str_slice(line, 0, at)), trim(str_slice(line, end, line.len))};
    }
    return (Listed){line, STR("")};
}

/* ---- what the vocabulary knows ---- */

static const Entry *find_thing(const Vocabulary *v, Str words) {
    for (size_t i = 0; i < v->entries.n; i++)
        if (str_eq(v->entries.at[i].words, words) || str_eq(bare_words(v->arena, v->entries.at[i].name), words))
            return &v->entries.at[i];
    return NULL;
}

/* Words that many things have say nothing of which is meant. */
static bool common_word(Str word) {
    static const char *const common[] = {"area", "engine", "lever", "light", "lights", "switch", "valve"};
    for (size_t i = 0; i < sizeof common / sizeof *common; i++)
        if (str_eq(word, str_of(common[i]))) return true;
    return word.len < 4;
}

static bool shares_word(Str a, Str b) {
    for (size_t i = 0; i < a.len;) {
        size_t end = i;
        while (end < a.len && a.ptr[end] != ' ') end++;
        bool common = common_word(str_slice(a, i, end));
        for (size_t k = 0; !common && k + (end - i) <= b.len; k++)
            if ((!k || b.ptr[k - 1] == ' ') && (k + end - i == b.len || b.ptr[k + end - i] == ' ') &&
                str_eq(str_slice(a, i, end), str_slice(b, k, k + end - i)))
                return true;
        i = end + 1;
    }
    return false;
}

/* The nearest by its letters, else the first that has a word with it. */
static const Entry *near_thing(const Vocabulary *v, Str words) {
    const Entry *best = NULL;
    size_t least = words.len > 5 ? 3 : 2;
    for (size_t i = 0; i < v->entries.n; i++) {
        size_t distance = str_distance(words, v->entries.at[i].words, 3);
        if (distance < least) best = &v->entries.at[i], least = distance;
    }
    for (size_t i = 0; !best && i < v->entries.n; i++)
        if (shares_word(words, v->entries.at[i].words)) best = &v->entries.at[i];
    return best;
}

static const PositionDecl *find_position(Vocabulary *v, const Entry *entry, Str state) {
    Str words = bare_words(v->arena, state);
    for (const PositionDecl *at = entry->decl->positions; at; at = at->next) {
        Str print = at->print.span.hi ? text_raw(&v->job, at->print) : STR("");
        if (str_eq(words, bare_words(v->arena, name_text(&v->names, at->word.name))) ||
            (print.len && str_eq(words, bare_words(v->arena, print))))
            return at;
    }
    return NULL;
}

static bool is_on_or_off(Str state) {
    return str_eq(state, STR("on")) || str_eq(state, STR("off"));
}

static const char *verb_of(const Decl *decl) {
    return decl->kind == DECL_SCENE ? "look" : decl->kind == DECL_CONTROL ? "set" : "check";
}

/* ---- writing ---- */

typedef struct {
    Vocabulary *v;
    Buf *out;
    ListCounts counts;
    VEC(Str) phases;
    VEC(Str) fitted;
    bool in_phase, engines; /* engines: the aircraft has more than one */
} Writer;

static void put_text(Buf *buf, Str text) {
    buf_char(buf, '"');
    for (size_t i = 0; i < text.len; i++) {
        char c = text.ptr[i];
        if (c == '"' || c == '\\' || c == '{' || c == '}') buf_char(buf, '\\');
        buf_char(buf, (unsigned char)c < ' ' ? ' ' : c);
    }
    buf_char(buf, '"');
}

static bool among(const Str *list, size_t n, Str name) {
    for (size_t i = 0; i < n; i++)
        if (str_eq(list[i], name)) return true;
    return false;
}

/* "part", then the heading's words, so that no word of the language can be its name. */
static Str phase_name(Writer *w, Str heading) {
    Buf base = {w->v->arena, NULL, 0, 0};
    buf_text(&base, "part");
    Str words = bare_words(w->v->arena, heading);
    for (size_t i = 0; i < words.len && base.len < 60; i++) {
        if (words.ptr[i] & 0x80) continue;
        if (i == 0 || words.ptr[i] == ' ') buf_char(&base, '-');
        if (words.ptr[i] != ' ') buf_char(&base, words.ptr[i]);
    }
    Str name = buf_view(&base);
    while (name.len && name.ptr[name.len - 1] == '-') name.len--;
    Str first = name;
    for (uint64_t n = 2; among(w->phases.at, w->phases.n, name); n++)
        name = format_text(w->v->arena, NULL, "%S-%u", first, n);
    vec_push(w->v->arena, &w->phases, name);
    return name;
}

static void open_phase(Writer *w, Str heading) {
    if (w->in_phase) buf_text(w->out, "    }\n");
    buf_format(w->out, NULL, "    phase %S ", phase_name(w, heading));
    put_text(w->out, heading);
    buf_text(w->out, " {\n");
    w->in_phase = true;
}

static void put_plain(Writer *w, Listed line) {
    buf_text(w->out, "        plain   ");
    put_text(w->out, line.thing);
    if (line.state.len) {
        buf_char(w->out, ' ');
        put_text(w->out, line.state);
    }
}

static void propose(Writer *w, Listed line, const Entry *entry) {
    const Decl *decl = entry->decl;
    w->counts.proposed++;
    put_plain(w, line);
    if (decl->kind == DECL_GAUGE)
        buf_format(w->out, NULL, "  # proposal: check %S and one of its bands\n", entry->name);
    else if (decl->kind == DECL_CALL) buf_format(w->out, NULL, "  # proposal: call %S\n", entry->name);
    else if (decl->kind == DECL_BRIEFING) buf_format(w->out, NULL, "  # proposal: brief %S\n", entry->name);
    else {
        buf_format(w->out, NULL, "  # proposal: %s %S ", verb_of(decl), entry->name);
        for (const PositionDecl *at = decl->positions; at; at = at->next)
            buf_format(w->out, &w->v->names, at->next ? "%N, " : "%N\n", at->word.name);
        if (!decl->positions) buf_text(w->out, "OFF, ON\n");
    }
}

/* What turns or stops an engine waits for numbers of the aircraft, and what is counted for its own. */
static bool writes_now(const PositionDecl *position) {
    if (position->counted) return false;
    for (const Effect *effect = position->effects; effect; effect = effect->next)
        if (effect->kind != EFFECT_POWERS) return false;
    return true;
}

static bool put_item(Writer *w, Listed line, const Entry *entry) {
    const Decl *decl = entry->decl;
    Str words = bare_words(w->v->arena, line.state);
    bool each = w->engines && decl->each_engine; /* a list says it once where each engine has one */
    const char *head = each ? "for each engine { " : "", *gap = each ? "" : "    ", *tail = each ? " }" : "";
    if (decl->kind == DECL_BRIEFING) buf_format(w->out, NULL, "        brief   %S\n", entry->name);
    else if (decl->kind == DECL_LIGHT && !decl->positions && is_on_or_off(words))
        buf_format(w->out, NULL, "        %scheck%s %S %s%s\n", head, each ? "" : "  ", entry->name,
                   str_eq(words, STR("on")) ? "ON" : "OFF", tail);
    else if (decl->kind == DECL_CONTROL || decl->kind == DECL_SCENE || decl->kind == DECL_LIGHT) {
        const PositionDecl *position = find_position(w->v, entry, line.state);
        if (!position || !writes_now(position)) return false;
        buf_format(w->out, &w->v->names, "        %s%s%s %S %N%s\n", head, decl->kind == DECL_SCENE ? "look" : "set",
                   gap + (!each && decl->kind == DECL_SCENE), entry->name, position->word.name, tail);
    } else {
        return false;
    }
    w->counts.items++;
    if (decl->if_fitted && !among(w->fitted.at, w->fitted.n, entry->name))
        vec_push(w->v->arena, &w->fitted, entry->name);
    return true;
}

static void put_line(Writer *w, Listed line) {
    Str words = bare_words(w->v->arena, line.thing);
    const Entry *entry = find_thing(w->v, words);
    if (!line.state.len && (!entry || entry->decl->kind != DECL_BRIEFING)) {
        open_phase(w, line.thing);
        return;
    }
    if (!w->in_phase) open_phase(w, STR("As listed"));
    if (entry && put_item(w, line, entry)) return;
    if (!entry) entry = near_thing(w->v, words);
    if (entry) {
        propose(w, line, entry);
        return;
    }
    w->counts.plain++;
    put_plain(w, line);
    buf_text(w->out, "  # no word of this kind's vocabulary is like it\n");
}

/* "Item,State": the heads of the columns are no line of the list. */
static bool is_column_head(Arena *arena, Listed line) {
    static const char *const heads[] = {"state", "position", "response", "action", "setting"};
    Str words = bare_words(arena, line.state);
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        if (str_eq(words, str_of(heads[i]))) return true;
    return false;
}

ListCounts outline_list(Arena *arena, const Skeleton *skeleton, Str list, bool csv, Str name, Buf *out) {
    Writer w = {.v = read_vocabulary(arena, skeleton), .out = out};
    w.engines = find(skeleton->craft, STR("    engines    left, right\n")) < skeleton->craft.len;
    buf_format(out, NULL,
               "# ---- Today's list, line by line. What the vocabulary knows is an item; a plain line proves nothing "
               "until it becomes one ----\n"
               "procedure as-listed \"As on today's list\" for %S {\n    begins with %s\n",
               name, w.engines ? "left.engine STOPPED and right.engine STOPPED" : "engine STOPPED");
    bool first = csv;
    for (size_t at = str_starts(list, STR("\xEF\xBB\xBF")) ? 3 : 0; at < list.len;) {
        Str line = trim(page_next_line(list, &at));
        Listed listed = csv ? split_csv(arena, line) : split_text(without_bullet(line));
        if (listed.thing.len && !(first && is_column_head(arena, listed))) put_line(&w, listed);
        first = first && !listed.thing.len;
    }
    if (!w.in_phase) open_phase(&w, STR("As listed"));
    buf_text(out, "    }\n    end RUNNING\n}\n");
    Buf fitted = {arena, NULL, 0, 0};
    for (size_t i = 0; i < w.fitted.n; i++) buf_format(&fitted, NULL, i ? ", %S" : "%S", w.fitted.at[i]);
    w.counts.fitted = buf_view(&fitted);
    return w.counts;
}
