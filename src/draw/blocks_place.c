/* Places by Graphviz: boxes of a fixed size in layers from left to right, arrows as curves. Only layout is asked of it: no
 * fonts, no files, no drawing. Its libraries keep state of their own, so one layout is made at a time. */
#include "draw/blocks_inside.h"
#include "graphviz_plugins.h" /* made by the build */

#include <dlfcn.h>
#include <graphviz/gvc.h>
#include <pthread.h>
#include <stdio.h>

static const double POINT = 25.4 / 72, INCH = 25.4; /* mm */
static const char LAYERS_APART[] = "1.15", BOXES_APART[] = "0.28"; /* inches: room for the figures between layers */

static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;

static int hear_nothing(char *says) {
    (void)says;
    return 0;
}

static void set(void *object, const char *name, const char *value) {
    agsafeset(object, (char *)(uintptr_t)name, (char *)(uintptr_t)value, (char *)(uintptr_t)"");
}

static void set_inches(void *object, const char *name, double mm) {
    char text[32];
    snprintf(text, sizeof text, "%.4f", mm / INCH);
    set(object, name, text);
}

/* Boxes as nodes b0, b1 ..., arrows as edges. nodes: size list.count; edges: size arrows.count. */
static Agraph_t *graph_of(const Blocks *blocks, Agnode_t **nodes, Agedge_t **edges) {
    Agraph_t *graph = agopen((char *)(uintptr_t) "blocks", Agdirected, NULL);
    if (graph == NULL) return NULL;
    set(graph, "rankdir", "LR");
    set(graph, "ranksep", LAYERS_APART);
    set(graph, "nodesep", BOXES_APART);
    for (uint32_t i = 0; i < blocks->list.count; i++) {
        char name[16];
        snprintf(name, sizeof name, "b%u", i);
        nodes[i] = agnode(graph, name, 1);
        if (nodes[i] == NULL) continue;
        set(nodes[i], "shape", "box");
        set(nodes[i], "fixedsize", "true");
        set(nodes[i], "label", "");
        set_inches(nodes[i], "width", blocks->list.at[i].width);
        set_inches(nodes[i], "height", blocks->list.at[i].height);
    }
    for (uint32_t i = 0; i < blocks->arrows.count; i++) {
        const BlockArrow *arrow = &blocks->arrows.at[i];
        edges[i] = agedge(graph, nodes[arrow->from], nodes[arrow->to], NULL, 1);
        if (edges[i] != NULL) set(edges[i], "arrowhead", "none");
    }
    return graph;
}

/* Graphviz counts upwards from the bottom. */
static SvgPoint mm_of(const Blocks *blocks, pointf at) { return (SvgPoint){at.x * POINT, blocks->height - at.y * POINT}; }

static void take_places(Blocks *blocks, Agraph_t *graph, Agnode_t **nodes, Agedge_t **edges) {
    blocks->width = GD_bb(graph).UR.x * POINT, blocks->height = GD_bb(graph).UR.y * POINT;
    for (uint32_t i = 0; i < blocks->list.count; i++) blocks->list.at[i].at = mm_of(blocks, ND_coord(nodes[i]));
    for (uint32_t i = 0; i < blocks->arrows.count; i++) {
        BlockArrow *arrow = &blocks->arrows.at[i];
        const splines *curves = edges[i] != NULL ? ED_spl(edges[i]) : NULL;
        if (curves == NULL || curves->size == 0) continue;
        const bezier *curve = &curves->list[0];
        arrow->at = arena_many(blocks->arena, SvgPoint, (size_t)curve->size);
        arrow->count = (uint32_t)curve->size;
        for (uint32_t k = 0; k < arrow->count; k++) arrow->at[k] = mm_of(blocks, curve->list[k]);
    }
}

static bool lay_out(Blocks *blocks, GVC_t *context, Text *why) {
    Arena *scratch = arena_new();
    Agnode_t **nodes = arena_many(scratch, Agnode_t *, blocks->list.count + 1);
    Agedge_t **edges = arena_many(scratch, Agedge_t *, blocks->arrows.count + 1);
    Agraph_t *graph = graph_of(blocks, nodes, edges);
    bool made = graph != NULL, done = false;
    for (uint32_t i = 0; made && i < blocks->list.count; i++) made = nodes[i] != NULL;
    if (made && gvLayout(context, graph, "dot") == 0) {
        take_places(blocks, graph, nodes, edges);
        gvFreeLayout(context, graph);
        done = true;
    } else {
        const char *said = aglasterr();
        *why = said != NULL && said[0] != '\0' ? text_trim(text_copy(blocks->arena, text_of(said))) : TEXT("it does not say why");
    }
    if (graph != NULL) agclose(graph);
    arena_free(scratch);
    return done;
}

/* Graphviz with its layered layout and nothing else: asked to look for plugins itself, it would read a list of all of them
 * from the disk. NULL: the layout is not there. */
static GVC_t *context_of(void) {
    void *layered = dlopen(GRAPHVIZ_PLUGINS "/libgvplugin_dot_layout.so.6", RTLD_NOW | RTLD_LOCAL); /* stays for the next time */
    void *library = layered == NULL ? NULL : dlsym(layered, "gvplugin_dot_layout_LTX_library");
    const lt_symlist_t plugins[] = {{"gvplugin_dot_layout_LTX_library", library}, {NULL, NULL}};
    return library == NULL ? NULL : gvContextPlugins(plugins, 0);
}

bool blocks_place(Blocks *blocks, Diags *problems) {
    Text why = TEXT("its library does not start");
    pthread_mutex_lock(&one_at_a_time);
    agusererrf heard = agseterrf(hear_nothing);
    GVC_t *context = context_of();
    bool done = context != NULL && lay_out(blocks, context, &why);
    if (context != NULL) gvFreeContext(context);
    agseterrf(heard);
    pthread_mutex_unlock(&one_at_a_time);
    if (!done)
        diag_add(problems, (Diag){.message = text_fmt(problems->arena, "the block diagram can't be placed: %.*s", TEXT_ARG(why)),
                                  .expected = TEXT("Graphviz with its dot layout (Debian: libgvc6)"),
                                  .hint = TEXT("the blocks are listed in a row instead")});
    return done;
}
