/* The page as a whole: the shell from web/bench.html with what is known already in it, so that the first view is one
 * answer. */
#include "page/inside.h"

static Text title_of(const PageModel *model) {
    const Note *product = model->open ? model->teardown.bench->product : NULL;
    return product == NULL ? TEXT("A teardown") : product->product.name;
}

void answer_bench(Call *call) {
    const PageModel *model = call->model;
    if (model == NULL) {
        answer_begin(call);
        return;
    }
    Text shell = asset("web/bench.html");
    shell = shell_until(&call->out, shell, "<!--version-->");
    out_fmt(&call->out, "%llu", (unsigned long long)model->version);
    shell = shell_until(&call->out, shell, "<!--title-->");
    markup(&call->out, "$", title_of(model));
    shell = shell_styled(&call->out, shell);
    shell = shell_until(&call->out, shell, "<!--front-->");
    bool begun = model->open && model->teardown.notebook->notes.count > 0; /* else what to do first lies in front */
    out_add(&call->out, begun ? TEXT("table") : TEXT("findings"));
    shell = shell_until(&call->out, shell, "<!--heading-->");
    markup(&call->out, "$", title_of(model));
    shell = shell_until(&call->out, shell, "<!--notes-->");
    out_add(&call->out, model->notes);
    shell = shell_until(&call->out, shell, "<!--findings-->");
    out_add(&call->out, model->findings);
    out_add(&call->out, shell);
}
