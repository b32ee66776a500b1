/* Screens of the show, and the cue sheet that goes with them. Private to the room. */
#ifndef UNPICK_REPORT_SHOW_H
#define UNPICK_REPORT_SHOW_H

#include "report/html.h"

typedef LIST(Text) ShowTexts;

/* What the speaker has of a screen. */
typedef struct ShowCue {
    Text title;
    ShowTexts says;    /* what stands there */
    ShowTexts because; /* what it rests on, and what else could be told: only on the cue sheet */
    double seconds;
} ShowCue;

typedef struct Show {
    Html html;
    LIST(ShowCue) cues; /* the last is of the screen that is being written */
    bool listing, picturing;
} Show;

/* ---- one screen (show.c) ---- */

/* Begins a screen: its title and, of whatever comes, the words. class: our own word. */
void show_open(Show *show, const char *class, Text title);
void show_says(Show *show, Text sentence);  /* in large letters */
void show_point(Show *show, Text sentence); /* one of a list */
/* The callouts of a photo, or, file empty, of a side of a board: shown one at a time. */
void show_callouts(Show *show, Text file, Text board, BoardSide side);
void show_picture(Show *show); /* from here on it is the picture, until show_close */
void show_close(Show *show);

void show_because(Show *show, Text evidence);
void show_because_lines(Show *show, const char *what, const uint32_t *lines, uint32_t count); /* nothing for no lines */
/* How sure it is and the weightiest of what it rests on. */
void show_because_claim(Show *show, const ReasonClaim *claim);

/* ---- all of them ---- */

void show_screens(Show *show); /* show_screens.c */
void show_figures(Show *show); /* show_figures.c: those of the sums */
void show_cues(Show *show);    /* show_cues.c */

extern const char SHOW_CSS[];     /* show.css, made by the build */
extern const char SHOW_JS[];      /* show.js */
extern const char SHOW_JS_HASH[]; /* its SHA-256 as Content-Security-Policy names it */

#endif
