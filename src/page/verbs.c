#include "page/verbs.h"

static const VerbHelp HELPS[] = {
    {NOTE_PRODUCT, "product \"NAME\" WORD ...", "what it is, and what sort of thing", "product \"Kettle\" household mains"},
    {NOTE_RATED, "rated QUANTITY or WORD ...", "what the label says", "rated 6 V IPX4 \"4 x AAA\" by label"},
    {NOTE_BOUGHT, "bought DATE for PRICE", "when, and for how much", "bought 2026-09-03 for 7.99 EUR"},
    {NOTE_STEP, "step NUMBER \"WHAT\" with \"TOOL\"", "how you opened it, in order",
     "step 1 \"battery door, one screw\" with \"PH1 screwdriver\""},
    {NOTE_BOARD, "board NAME LENGTH x LENGTH N layer MATERIAL", "a board and its size: then its photo has millimetres",
     "board A 46.5 x 21.0 mm 1 layer"},
    {NOTE_PHOTO, "photo BOARD top or bottom FILE corners FOUR POINTS", "a photo, of the product or of one side of a board",
     "photo A bottom a-bottom.jpg"},
    {NOTE_PART, "part REF PACKAGE KIND VALUE marked \"...\" on BOARD at X,Y", "a part by its reference",
     "part R1 0805 marked \"101\""},
    {NOTE_JOIN, "join END END ...", "what copper or wire joins", "join U1.8 R1.1 by meter"},
    {NOTE_APART, "apart END END ...", "what is not joined", "apart U1.5 U1.6 by meter"},
    {NOTE_NET, "net NAME END ...", "a net's name, and what is on it", "net VBAT BT1.+ SW1.1"},
    {NOTE_READ, "read WHAT(END) = QUANTITY in MODE", "what an instrument read", "read v(VBAT) = 6.21 V by meter"},
    {NOTE_MODE, "mode NAME", "a state the product can be in", "mode idle \"waiting for a hand\""},
    {NOTE_DRIVE, "drive REF.PIN high, low, open, FREQUENCY or VOLTAGE in MODE", "what a chip does with a pin",
     "drive U1.3 high in pumping by scope"},
    {NOTE_PRESS, "press REF ... in MODE", "switches that are closed", "press SW1"},
    {NOTE_STALL, "stall REF ... in MODE", "motors that are held fast", "stall M1"},
    {NOTE_DUTY, "duty MODE TIME per TIME", "how much of its life it spends in a mode", "duty idle 95%"},
    {NOTE_GEAR, "gear REF N:N ...", "the wheels that a motor turns, driving:driven", "gear M1 12:60 10:48"},
    {NOTE_MEMORY, "memory REF BITS at RATE", "how much a memory holds, and of what", "memory U3 8 Mbit at 8 kHz 8 bit"},
    {NOTE_CLAIM, "claim END \"WHAT\" sure N%", "what you believe, and how surely", "claim U1 \"a microcontroller\" sure 70%"},
    {NOTE_ASK, "ask \"QUESTION\"", "a question to keep in sight", "ask \"which carrier does the sensor use?\""},
    {NOTE_CUT, "cut BOARD SIDE at X,Y", "a track is cut there", "cut A bottom at 31.5,9.2"},
    {NOTE_BRIDGE, "bridge BOARD SIDE X,Y X,Y", "solder or wire joins two places", "bridge A 3.2,4.1 5.0,4.1"},
    {NOTE_HIDDEN, "hidden BOARD SIDE X,Y X,Y X,Y ...", "nothing can be seen within this outline",
     "hidden A bottom 20,1 29,1 29,8 20,8"},
    {NOTE_HOLE, "hole BOARD at X,Y LENGTH plated or bare", "a hole, and whether metal joins the sides in it",
     "hole A at 2.5,2.5 3.2 mm bare"},
    {NOTE_COPPER, "copper BOARD SIDE at X,Y", "here is copper, whatever it looks like", "copper A at 14.1,3.3"},
    {NOTE_BARE, "bare BOARD SIDE at X,Y", "here is none, whatever it looks like", "bare A at 15.0,3.9"},
    {NOTE_MARK, "mark BOARD or FILE at X,Y \"WHAT\"", "a callout on a photo", "mark A at 31.5,9.2 \"this ring is the ground\""},
    {NOTE_LICENCE, "licence \"TERMS\"", "under which terms others may use your report", "licence \"CC BY 4.0, A. Person\""},
    {NOTE_STRIKE, "strike LINE", "voids a line; it stays in the file", "strike 14 \"misread\""},
};

const VerbHelp *verb_helps(size_t *count) {
    *count = sizeof HELPS / sizeof *HELPS;
    return HELPS;
}

const VerbHelp *verb_help(Text word) {
    for (size_t i = 0; i < sizeof HELPS / sizeof *HELPS; i++)
        if (text_same(word, note_verb_name(HELPS[i].verb))) return &HELPS[i];
    return NULL;
}
