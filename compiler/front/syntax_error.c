#include "front/parse.h"
#include "parser.h"

void parser_too_deep(Parser *p, Span span)
{
    REPORT(p, FINDING_TOO_DEEP, span, "Nested too deeply: at most %u braces or brackets within each other.",
           (uint64_t)LIMIT_NESTING);
    p->stopped = true;
}

void syntax_error(Parser *p, const SyntaxError *error)
{
    REPORT(p, FINDING_SYNTAX, error->span, "\"%S\" cannot stand here.", parser_text(p, error->span));
}
