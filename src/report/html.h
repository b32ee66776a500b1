/* HTML pieces. Private to the room. Markup is written with out_lit; whatever comes from outside, with html_escape. */
#ifndef UNPICK_REPORT_HTML_H
#define UNPICK_REPORT_HTML_H

#include "draw/svg.h"
#include "report/photo.h"
#include "report/words.h"

/* The one place where text becomes HTML: fit for content and for quoted attributes. A figure keeps its unit on its line. */
void html_escape(Out *out, Text text);
/* A name fit for id="..." and href="#...": other bytes than letters, digits, - and . as _ and two hex digits. */
void html_anchor(Out *out, const char *prefix, Text name);

/* A file of photos/ that the page shows. */
typedef struct HtmlPhoto {
    Text file;
    uint32_t number; /* on the page; 0: not shown yet */
    bool failed;
    PagePhoto made;
} HtmlPhoto;

/* What every chapter of the page needs. */
typedef struct Html {
    Out *out;
    Arena *arena;
    const Reasoning *reasoning;
    const Bench *bench;
    const Story *story;
    const Sums *sums; /* NULL: none */
    bool ansi;        /* symbols of IEEE 315 */
    Diags *problems;
    LIST(HtmlPhoto) photos;
    uint32_t photo_side; /* pixels along the longer side */
    size_t photo_bytes;  /* that each may take */
    uint32_t photo_count;
} Html;

/* A page about this; its photos are as large as photo_side then says. */
Html html_new(Out *out, const Reasoning *reasoning, const Sums *sums, bool ansi, Diags *problems);
void html_section(Html *html, const char *id, const char *title);                  /* opens; closed by `</section>` */
void html_lines(Html *html, const uint32_t *lines, uint32_t count);                /* `line 3`, linked to the notes */
void html_quotes(Html *html, const uint32_t *lines, uint32_t count);               /* a list of the notes themselves */
void html_texts(Html *html, const char *class, const Text *texts, uint32_t count); /* one paragraph each */

/* A sentence with the evidence under it, opened by a click or a key, warnings in sight. */
void html_claim(Html *html, const ReasonClaim *claim);
void html_claim_as(Html *html, const ReasonClaim *claim, Text says); /* in other words than its own */
void html_sure(Html *html, double p);                                /* `87 %` */

void html_how(Html *html); /* html_claims.c */
void html_hazards(Html *html);
void html_spared(Html *html);

void html_parts(Html *html); /* html_tables.c */
void html_nets(Html *html);
void html_values(Html *html);

/* The head up to its styles, which stand between it and html_end_head; script: the one that may run, by its hash. */
void html_begin_head(Html *html, const char *title, const char *script_hash);
void html_end_head(Html *html);

void html_boards(Html *html); /* html_boards.c */
/* The straightened photo of a side, or an empty text. */
Text html_straightened(Html *html, Text board, BoardSide side);
bool html_has_boards(const Html *html);

void html_schematic(Html *html); /* html_schematic.c */
void html_schematic_css(Html *html); /* what of its figures is in sight: in the head */

void html_photos_find(Html *html); /* html_photos.c: before any other of them */
/* The photo with its callouts, the first time; then a link to it. alt: what it shows; line: of its note, or NULL. */
void html_photo(Html *html, Text file, Text alt, const uint32_t *line);
/* The photo and its rings alone, as often as is asked. False, and nothing: it can't be shown. */
bool html_shot(Html *html, Text file, Text alt);
Text html_photo_alt(Html *html, const Note *note);
const Note *html_cover_note(const Html *html); /* the first photo of the product as a whole; NULL: none */
void html_cover(Html *html);
void html_more_photos(Html *html);
void html_jpeg(Html *html, const PagePhoto *photo, Text alt);
/* What the callouts of a photo say, or, file empty, of a side of a board. */
void html_callouts(Html *html, Text file, Text board, BoardSide side);

bool html_has_sums(const Html *html); /* html_sums.c */
void html_sums(Html *html);

void html_plot_currents(Html *html); /* html_plots.c: nothing where the sums know too little */
void html_plot_batteries(Html *html);
void html_plot_readings(Html *html);

void html_steps(Html *html); /* html_page.c and below */
void html_conflicts(Html *html);
void html_open(Html *html);
void html_sources(Html *html);
void html_notes(Html *html);
void html_licence(Html *html);

extern const char REPORT_CSS[];    /* report.css, made by the build */
extern const char REPORT_JS[];     /* report.js */
extern const char REPORT_JS_HASH[]; /* its SHA-256 as Content-Security-Policy names it */
extern const char REPORT_METHOD[]; /* method.html, made by the build */

#endif
