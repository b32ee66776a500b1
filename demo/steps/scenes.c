/* The scenes: an invented dispenser on the bench, as it is opened. Places are in mm of a picture of 200 by 150. */
#include "steps.h"

#include <math.h>

enum {
    WHITE = 0xf1efe8,
    SHADE = 0xd9d6cc,
    GREY = 0x8d8f92,
    RUBBER = 0x3a3b3d,
    STEEL = 0xc9ccd0,
    DARK = 0x1f2022,
    BRASS = 0xd8b15a,
    GREEN = 0x1f6b3c,
    BLUE = 0x9fc7dd,
    RED = 0xb8352b,
    BLACK = 0x17181a,
    CREAM = 0xe9ddbf
};

static void add(Scene *scene, Shape shape) {
    if (scene->count < SHAPES_MOST) scene->shapes[scene->count++] = shape;
}

static void box(Scene *s, double x, double y, double wide, double tall, double round, double top, double edge,
                uint32_t colour) {
    add(s, (Shape){.x = x,
                   .y = y,
                   .wide = wide,
                   .tall = tall,
                   .round = round,
                   .top = top,
                   .edge = edge,
                   .colour = colour,
                   .gloss = 0.12});
}

static void disc(Scene *s, double x, double y, double radius, double top, double edge, uint32_t colour) {
    add(s, (Shape){.x = x,
                   .y = y,
                   .wide = 2 * radius,
                   .tall = 2 * radius,
                   .round = radius,
                   .top = top,
                   .edge = edge,
                   .colour = colour,
                   .gloss = 0.25});
}

static void hole(Scene *s, double x, double y, double wide, double tall, double round, double down_to, uint32_t colour) {
    add(s, (Shape){.x = x,
                   .y = y,
                   .wide = wide,
                   .tall = tall,
                   .round = round,
                   .top = down_to,
                   .edge = 0,
                   .colour = colour,
                   .cut = true});
}

/* A round rod lying from one place to another. */
static void rod(Scene *s, double x1, double y1, double x2, double y2, double radius, double top, uint32_t colour,
                double gloss) {
    double wide = hypot(x2 - x1, y2 - y1) + 2 * radius, turn = atan2(y2 - y1, x2 - x1) * 57.29577951308232;
    add(s, (Shape){.x = (x1 + x2) / 2,
                   .y = (y1 + y2) / 2,
                   .wide = wide,
                   .tall = 2 * radius,
                   .turn = turn,
                   .round = radius,
                   .top = top,
                   .edge = radius,
                   .colour = colour,
                   .gloss = gloss});
}

static void screw(Scene *s, double x, double y, double radius, double top, double turn) {
    disc(s, x, y, radius, top, 0.8, STEEL);
    for (int i = 0; i < 2; i++)
        add(s, (Shape){.x = x,
                       .y = y,
                       .wide = 1.25 * radius,
                       .tall = 0.3 * radius,
                       .turn = turn + 90 * i,
                       .top = top - 0.9,
                       .colour = DARK,
                       .cut = true});
}

static void barrel(Scene *s, double x, double y, double wide, double tall, double top, uint32_t colour) {
    double radius = wide < tall ? wide / 2 : tall / 2;
    add(s, (Shape){.x = x,
                   .y = y,
                   .wide = wide,
                   .tall = tall,
                   .round = 0.8,
                   .top = top,
                   .edge = radius,
                   .colour = colour,
                   .gloss = 0.35,
                   .barrel = true});
}

static void cell(Scene *s, double x, double y, bool up) {
    double way = up ? -1 : 1;
    barrel(s, x, y, 10.2, 42, 10, 0x64745a);
    barrel(s, x, y + way * 19, 10.2, 2.4, 10.02, CREAM); /* the plus */
    box(s, x, y + way * 22, 3.8, 2.6, 0.6, 6.5, 1.2, STEEL);
}

static void body(Scene *s, double x, double y, double wide, double tall) {
    box(s, x, y, wide, tall, 16, 26, 8, WHITE);
    for (double at = y - tall / 2 + 22; at < y + tall / 2 - 14; at += 4) /* ribs to hold it by */
        for (int side = -1; side <= 1; side += 2) box(s, x + side * (wide / 2 - 6), at, 5, 1.2, 0.6, 26.5, 0.6, SHADE);
}

/* 0: the whole, its front up: the window for the hand, the light, the bottle below. */
static void whole(Scene *s) {
    body(s, 100, 72, 96, 132);
    box(s, 100, 18, 30, 26, 9, 30, 8, SHADE);
    hole(s, 100, 12, 6, 6, 3, 20, BLACK);
    hole(s, 100, 44, 40, 15, 7.5, 24, DARK);
    box(s, 100, 44, 38, 13, 6.5, 25, 2, 0x2a2030); /* dark to the eye, clear to infrared */
    disc(s, 100, 62, 2.2, 27, 1.2, 0x5fae6d);
    hole(s, 100, 100, 66, 50, 20, 22, SHADE);
    box(s, 100, 100, 63, 47, 18, 27, 9, BLUE);
    box(s, 100, 100, 34, 22, 3, 27.4, 0.4, WHITE); /* a label with nothing on it */
}

/* 1: the battery door with its screw, the cells out. */
static void door(Scene *s) {
    body(s, 68, 75, 108, 132);
    hole(s, 68, 78, 62, 84, 5, 23, SHADE);
    box(s, 68, 78, 60.6, 82.6, 4.6, 25.4, 0.8, WHITE);
    for (int i = 0; i < 5; i++) rod(s, 58, 48 + 3.2 * i, 78, 48 + 3.2 * i, 0.7, 25.9, SHADE, 0.1);
    hole(s, 68, 110, 12, 12, 6, 22.5, SHADE);
    screw(s, 68, 110, 3.6, 24, 20);
    for (int i = 0; i < 4; i++) cell(s, 139 + 14 * i, 92 - 6 * (i % 2), i % 2 == 0);
    rod(s, 128, 30, 186, 22, 3.6, 9, RED, 0.5); /* a screwdriver */
    rod(s, 128, 30, 108, 33, 1.3, 5, STEEL, 0.7);
}

/* 2: the bottle pulled off, a cup below the spout. */
static void bottle(Scene *s) {
    body(s, 58, 78, 92, 128);
    hole(s, 58, 92, 62, 62, 31, 8, SHADE);
    disc(s, 58, 92, 9, 14, 2, GREY);
    disc(s, 58, 92, 4, 17, 1, RUBBER);
    hole(s, 58, 92, 4, 4, 2, 10, BLACK);
    box(s, 58, 20, 26, 22, 8, 24, 7, SHADE); /* the spout */
    hole(s, 58, 15, 5, 5, 2.5, 15, BLACK);
    disc(s, 152, 96, 31, 30, 10, BLUE);
    disc(s, 152, 96, 13, 36, 3, WHITE);
    disc(s, 152, 96, 4.2, 40, 1, GREY);
    disc(s, 138, 32, 23, 22, 2.5, CREAM); /* the cup */
    hole(s, 138, 32, 41, 41, 20.5, 3, 0xd8cba8);
    hole(s, 138, 32, 38, 38, 19, 2, 0xbfe0ea);
}

/* 3: four screws under the rubber feet, the long ones at the front. */
static void feet(Scene *s) {
    static const double x[4] = {34, 104, 34, 104}, y[4] = {30, 30, 120, 120};
    body(s, 69, 75, 108, 132);
    hole(s, 69, 75, 50, 30, 3, 24.6, 0xe4e1d8); /* the label's place, empty */
    for (int i = 0; i < 4; i++) {
        hole(s, x[i], y[i], 15, 15, 7.5, 23.5, SHADE);
        hole(s, x[i], y[i], 8.4, 8.4, 4.2, 15, DARK);
        screw(s, x[i], y[i], 3.4, i == 3 ? 17 : 18, 15.0 + 31 * i);
    }
    for (int i = 0; i < 4; i++) { /* feet and screws laid out */
        double at = 32 + 28 * i, length = i < 2 ? 22 : 13;
        disc(s, 146, at, 7.2, 5, 2.4, RUBBER);
        rod(s, 166, at, 166 + length, at, 1.5, 4, STEEL, 0.6);
        for (double t = 4; t < length; t += 1.4)
            rod(s, 166 + t, at - 1.3, 166 + t + 0.5, at + 1.3, 0.35, 4.25, 0x9a9da1, 0.4);
        rod(s, 164.5, at - 2.4, 164.5, at + 2.4, 1.3, 4.6, STEEL, 0.6);
    }
}

static void wire(Scene *s, const double (*at)[2], int count, uint32_t colour) {
    for (int i = 0; i + 1 < count; i++) rod(s, at[i][0], at[i][1], at[i + 1][0], at[i + 1][1], 0.8, 17, colour, 0.3);
}

/* The board as it is seen from its top: only what has legs is there. 46.5 by 21 mm. */
static void board(Scene *s, double x, double y, double top, double times) {
    box(s, x, y, 46.5 * times, 21 * times, 0.6, top, 0.2, 0x7a5a34);
    const struct {
        double x, y, radius, high;
        uint32_t colour;
    } cans[] = {{28.6, 3.9, 3.1, 11, BLACK}, {36.4, 5, 2.5, 11, 0x24324a}};
    for (int i = 0; i < 2; i++) {
        disc(s, x + (cans[i].x - 23.25) * times, y + (cans[i].y - 10.5) * times, cans[i].radius * times, top + cans[i].high,
             0.8, cans[i].colour);
        disc(s, x + (cans[i].x - 23.25) * times, y + (cans[i].y - 10.5) * times, (cans[i].radius - 0.6) * times,
             top + cans[i].high + 0.05, 0.2, STEEL);
    }
    box(s, x + (43.6 - 23.25) * times, y + (6.15 - 10.5) * times, 5.6 * times, 7 * times, 2 * times, top + 7, 2.4, BLACK);
    disc(s, x + (44.2 - 23.25) * times, y + (13.6 - 10.5) * times, 2.5 * times, top + 8, 2, 0xdfe7ea);
    disc(s, x + (11.4 - 23.25) * times, y + (3 - 10.5) * times, 1.5 * times, top + 5, 1.2, 0x5fae6d);
    box(s, x + (6 - 23.25) * times, y + (16.8 - 10.5) * times, 6 * times, 6 * times, 0.4, top + 4, 0.3, DARK);
    disc(s, x + (6 - 23.25) * times, y + (16.8 - 10.5) * times, 1.75 * times, top + 6, 0.4, RED);
    rod(s, x + (31.4 - 23.25) * times, y + (6.6 - 10.5) * times, x + (27.8 - 23.25) * times, y + (19.2 - 10.5) * times, 0.5,
        top + 1.2, STEEL, 0.7);
}

static void shell(Scene *s, double x, double y, double wide, double tall) {
    box(s, x, y, wide, tall, 14, 24, 2, WHITE);
    hole(s, x, y, wide - 7, tall - 7, 11, 4, SHADE);
}

/* 4: the lid lifted to the right; pump and switch hang on it by their plugs. */
static void lid(Scene *s) {
    shell(s, 58, 75, 100, 132);
    box(s, 58, 75, 100, 132, 14, 23.9, 2, WHITE);
    box(s, 58, 75, 95.5, 127.5, 12.6, 25.4, 0.8, RUBBER); /* the gasket */
    hole(s, 58, 75, 93, 125, 11, 4, SHADE);
    board(s, 58, 42, 10, 1.5);
    barrel(s, 48, 112, 38, 24, 26, 0xb9bcc0); /* the pump's motor */
    barrel(s, 26, 112, 6, 6, 16, STEEL);
    box(s, 78, 112, 26, 30, 4, 20, 2, 0xd5dbe0);
    disc(s, 82, 112, 9, 22, 2, 0xe6ebee);
    const double plus[][2] = {{78, 56}, {84, 70}, {70, 82}, {50, 92}, {40, 104}},
                 minus[][2] = {{72, 56}, {76, 70}, {62, 80}, {42, 90}, {30, 104}};
    wire(s, plus, 5, RED), wire(s, minus, 5, BLACK);
    box(s, 75, 56, 10, 5, 0.5, 16, 0.6, CREAM);
    shell(s, 156, 75, 78, 120);
    disc(s, 156, 92, 14, 5, 0.3, BRASS);
    disc(s, 156, 92, 9.5, 5.3, 0.2, CREAM);
    const double thin[][2] = {{150, 84}, {140, 70}, {122, 62}, {104, 58}, {86, 54}};
    wire(s, thin, 5, 0x3c4fa0);
    box(s, 156, 38, 26, 10, 1, 12, 1, DARK); /* the switch */
    box(s, 152, 38, 9, 5, 0.6, 16, 0.6, GREY);
}

/* 5: two screws hold the board. */
static void hold(Scene *s) {
    shell(s, 100, 75, 186, 132);
    for (int i = 0; i < 2; i++) disc(s, i == 0 ? 33 : 167, i == 0 ? 46 : 104, 6.5, 9, 0.8, WHITE);
    board(s, 100, 75, 11, 3.3);
    for (int i = 0; i < 2; i++) screw(s, i == 0 ? 33 : 167, i == 0 ? 48.5 : 101.5, 4.6, 14, 40.0 + 25 * i);
    rod(s, 120, 137, 176, 128, 3, 12, 0x2f3f8a, 0.5);
    rod(s, 120, 137, 100, 140, 1.1, 8, STEEL, 0.7);
}

void scene_make(int step, Scene *scene) {
    static const char *const files[SCENES] = {"front.jpg", "door.jpg", "bottle.jpg", "feet.jpg", "lid.jpg", "board.jpg"};
    static void (*const make[SCENES])(Scene *) = {whole, door, bottle, feet, lid, hold};
    *scene = (Scene){.file = files[step]};
    make[step](scene);
}
