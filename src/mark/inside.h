/* What the files of this room share: the tables, a line of lore being read, a marking being read. */
#ifndef UNPICK_MARK_INSIDE_H
#define UNPICK_MARK_INSIDE_H

#include "base/names.h"
#include "mark/mark.h"

/* ---- the tables ---- */

/* Code tables of the lore, by name; each letter's or digit's meaning stands there, not here. */
typedef enum Code {
    CODE_WEIGHT,            /* weights and sigmas that are not one reading's own */
    CODE_TOLERANCE,         /* letter to per cent */
    CODE_TOLERANCE_UNEVEN,  /* letter to a range in per cent, capacitors */
    CODE_TOLERANCE_PF,      /* letter to picofarads, capacitors below 10 pF */
    CODE_EIA_96,            /* two digits to three significant figures */
    CODE_EIA_96_MULTIPLIER, /* letter to a factor */
    CODE_COLOUR,            /* short and long names to the colour */
    CODE_COLOUR_DIGIT,
    CODE_COLOUR_POWER, /* power of ten */
    CODE_COLOUR_TOLERANCE,
    CODE_COLOUR_DRIFT, /* temperature coefficient, ppm/K */
    CODE_VOLT_LETTER,  /* letter to volts before the power of ten */
    CODE_TANTALUM_VOLTS,
    CODE_CAPACITANCE_LETTER, /* letter to significant figures */
    CODE_CLASS_1,            /* older names to EIA-198 codes */
    CODE_CLASS_1_FIGURE,
    CODE_CLASS_1_MULTIPLIER,
    CODE_CLASS_1_TOLERANCE,
    CODE_CLASS_2_LOW,
    CODE_CLASS_2_HIGH,
    CODE_CLASS_2_CHANGE,
    CODE_SAFETY, /* interference suppression classes */
    CODE_YEAR,   /* letter to the first year of its cycle */
    CODE_MONTH,
    CODE_IP_SOLID,
    CODE_IP_WATER,
    CODE_IP_ACCESS,
    CODE_IP_EXTRA,
    CODE_COUNT
} Code;

typedef struct CodeEntry {
    Text key;
    bool has_value;
    Quantity value;
    Text says;
} CodeEntry;

typedef struct CodeTable {
    LIST(CodeEntry) entries;
    Text source;
} CodeTable;

/* One way of reading a marking; its weight and its standard stand in the lore. */
typedef enum Form {
    FORM_RESISTOR_DIGITS_3,
    FORM_RESISTOR_DIGITS_4,
    FORM_RESISTOR_LETTER,
    FORM_RESISTOR_EIA_96,
    FORM_RESISTOR_ZERO,
    FORM_RESISTOR_COLOURS,
    FORM_CAPACITOR_DIGITS,
    FORM_CAPACITOR_LETTER,
    FORM_CAPACITOR_PLAIN_PF,
    FORM_CAPACITOR_PLAIN_UF,
    FORM_CAPACITOR_EIA_198,
    FORM_CAPACITOR_TANTALUM,
    FORM_CAPACITOR_CLASS_1,
    FORM_CAPACITOR_CLASS_2,
    FORM_CAPACITOR_VOLTS,
    FORM_CAPACITOR_SAFETY,
    FORM_INDUCTOR_DIGITS,
    FORM_INDUCTOR_LETTER,
    FORM_INDUCTOR_COLOURS,
    FORM_DATE_LETTERS,
    FORM_DATE_YEAR_WEEK,
    FORM_DATE_WEEK_YEAR,
    FORM_DATE_DIGIT_WEEK,
    FORM_CELL,
    FORM_IP,
    FORM_SIGN,
    FORM_WIRE,
    FORM_MEMORY,
    FORM_MAKER,
    FORM_COUNT
} Form;

typedef struct FormCase {
    Text word;       /* a package's name, its style, or a word for a case such as electrolytic */
    double decibans; /* -INFINITY: never */
} FormCase;

typedef struct FormRule {
    bool said; /* the lore has it */
    Text kind, standard;
    double decibans;
    LIST(FormCase) cases;
} FormRule;

/* What a part of some kind may carry: `narrow "chip"` / `may memory date`. */
typedef struct Narrow {
    LIST(Text) names, may;
} Narrow;

typedef enum CellShape { CELL_ROUND, CELL_BOX } CellShape;

typedef struct CellSystem {
    Text letter, chemistry, source;
    double volts;
    bool lithium, rechargeable;
} CellSystem;

/* A size or a whole assembly: `R6`, `6F22`. */
typedef struct CellSize {
    Text code, source;
    CellShape shape;
    double mm[3];     /* diameter, height; or length, width, height */
    LIST(Text) trade; /* names that say the size and no more: AA */
    LIST(Text) same;  /* names that say all: PP3 -> 6F22 */
    Text system;      /* for `same`: the system's letter */
} CellSize;

typedef struct CellChemistry {
    MarkChemistry is;
    LIST(Text) systems;
} CellChemistry;

typedef struct CellStock {
    Text key, source; /* key: LR6, 6LR61 */
    MarkLoad loads[MARK_LOADS_MOST];
    uint32_t load_count;
    Quantity holds; /* when there are no loads */
    Quantity ohms;
} CellStock;

typedef struct Sign {
    Text name, says, source;
    LIST(Text) also;
} Sign;

typedef struct Density {
    Text digits;
    double bits;
} Density;

typedef struct MemoryFamily {
    Text digits, is, source;
    LIST(Text) letters;
    LIST(Density) densities;
} MemoryFamily;

typedef LIST(MarkPackage) Packages;

struct Marks {
    Arena *arena;
    Packages packages;
    LIST(double) package_priors; /* beside packages: `seen often` in decibans */
    Names *package_names;        /* folded names */
    LIST(uint32_t) package_of;   /* by name number */
    CodeTable codes[CODE_COUNT];
    FormRule forms[FORM_COUNT];
    LIST(Narrow) narrows;
    LIST(CellSystem) systems;
    LIST(CellSize) sizes;
    LIST(CellChemistry *) chemistries;
    LIST(CellStock) stocks;
    LIST(Sign) signs;
    LIST(MemoryFamily) memories;
};

const CodeEntry *code_find(const Marks *marks, Code code, Text key);
const CodeEntry *code_letter(const Marks *marks, Code code, char key);
double weight_of(const Marks *marks, const char *key); /* from CODE_WEIGHT, as written (mm in mm); 0 when missing */

/* ---- one line of lore being read; after the first wrong word it takes nothing more and says nothing more ---- */

typedef struct Line {
    Lore *lore;
    const LoreLine *line;
    Lexer lexer;
    bool bad;
} Line;

Line line_start(Lore *lore, const LoreLine *line);
void line_wrong(Line *line, Text message, Text expected);
bool line_more(const Line *line);
bool line_take(Line *line, const char *word);
Text line_text(Line *line); /* a string or a word */
Quantity line_quantity(Line *line, Unit unit, const char *expected);
double line_mm(Line *line);
size_t line_sizes(Line *line, double *mm, size_t most); /* `4.9 x 3.9 mm`; the count, 0 when wrong */
double line_decibans(Line *line);                       /* `6 dB` */
void line_end(Line *line);

/* ---- each file's entries ---- */

void package_load(Marks *marks, Lore *lore, const LoreEntry *entry);
void cell_system_load(Marks *marks, Lore *lore, const LoreEntry *entry);
void cell_size_load(Marks *marks, Lore *lore, const LoreEntry *entry);
void chemistry_load(Marks *marks, Lore *lore, const LoreEntry *entry);
void stock_load(Marks *marks, Lore *lore, const LoreEntry *entry);
void sign_load(Marks *marks, Lore *lore, const LoreEntry *entry);
void memory_load(Marks *marks, Lore *lore, const LoreEntry *entry);
double package_prior(const Marks *marks, const MarkPackage *package);

/* ---- a marking being read ---- */

enum { MARK_LONGEST = 128, MARK_WORDS_MOST = 8, SIZES_MOST = 3 };

typedef struct Draft {
    MarkReading reading;
    LIST(MarkField) fields;
} Draft;

typedef struct Reader {
    Arena *arena;
    const Marks *marks;
    MarkContext context;
    const MarkPackage *package; /* of the context, or NULL */
    const Narrow *narrow;       /* of the context's kind, or NULL */
    Text whole;
    Text words[MARK_WORDS_MOST]; /* split at blanks; empty when there are more */
    uint32_t word_count;
    LIST(Draft) drafts;
    Text refused; /* why a marking that looks like a code is none */
} Reader;

/* Adds a reading of this form with the form's weight, the context's and `decibans`. Never NULL: one that the context rules
 * out is dropped at the end. A pointer lives until the next call. */
Draft *reading_add(Reader *reader, Form form, double decibans, Text says);
void reading_value(Draft *draft, Quantity value);
void reading_field(Reader *reader, Draft *draft, const char *name, Text value);
void reading_assume(Reader *reader, Draft *draft, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* Is this reading asked for by name (`--as`), so that a bare number may be taken for it? */
bool reader_asked(const Reader *reader, const char *kind);
bool reader_on(const Reader *reader, const char *case_word);

void read_resistor(Reader *reader);
void read_colours(Reader *reader);
void read_capacitor(Reader *reader);
void read_dielectric(Reader *reader);
void read_inductor(Reader *reader);
void read_date(Reader *reader);
void read_cell(Reader *reader);
void read_ip(Reader *reader);
void read_sign(Reader *reader);
void read_wire(Reader *reader);
void read_memory(Reader *reader);
void read_maker(Reader *reader);

/* ---- small common things ---- */

static inline bool is_digit(char c) { return c >= '0' && c <= '9'; }
static inline bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }
static inline bool is_letter(char c) { return is_upper(c) || (c >= 'a' && c <= 'z'); }
static inline char to_upper(char c) { return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c; }
int text_number(Text digits); /* of at most 9 digits */
Text quantity_said(Arena *arena, Quantity quantity);
Quantity memory_size(double bits);                          /* said without digits after the point */
double size_decibans(const Marks *marks, double ohm);       /* against resistors of unheard-of size */
Text tolerance_said(Arena *arena, double low, double high); /* fractions: `±5 %`, `-20/+80 %` */
/* `4.9 x 3.9 mm` at the start of `text`: millimetres into mm[most]. Bytes used, 0 when it isn't one. */
size_t sizes_parse(Text text, double *mm, size_t most, size_t *count);
/* Weight of evidence from a value's being, or not being, a preferred one: `steps` a decade of IEC 60063 or any of E24, out
 * of `figures` (2 or 3) significant figures. */
double series_decibans(const Marks *marks, double value, unsigned steps, int figures);

#endif
