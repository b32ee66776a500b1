/* The shells that pages are written in: HTML with marks, `<!--name-->`, where something is to stand. The style is one of
 * these, and no file of its own: a browser shows nothing until it has the style, and a second request would double that
 * wait. The policy knows it by its hash. */
#include "page/inside.h"

Text shell_until(Out *out, Text shell, const char *mark) {
    size_t at = text_find(shell, text_of(mark));
    if (at == SIZE_MAX) return shell;
    out_add(out, text_sub(shell, 0, at));
    return text_sub(shell, at + strlen(mark), shell.len);
}

Text shell_styled(Out *out, Text shell) {
    shell = shell_until(out, shell, "<!--style-->");
    out_add(out, asset("web/bench.css"));
    return shell;
}
