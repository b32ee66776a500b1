/* Models: how a kind of part becomes elements of a circuit, as read from the lore. Private to the room. */
#ifndef UNPICK_SUMS_MODELS_H
#define UNPICK_SUMS_MODELS_H

#include "sums/sums.h"

enum { MODEL_FACTORS_MOST = 3, MODEL_TERMS_MOST = 4, MODEL_SETS_MOST = 16, MODEL_INNER_MOST = 4 };

typedef enum FactorOp {
    FACTOR_VALUE,
    FACTOR_CELLS,
    FACTOR_READING,
    FACTOR_RATED,
    FACTOR_PROPERTY,
    FACTOR_QUANTITY
} FactorOp;

typedef struct ModelFactor {
    FactorOp op;
    Text name; /* of a property, or a reading's function */
    Quantity quantity;
} ModelFactor;

typedef struct ModelTerm { /* a product */
    ModelFactor factors[MODEL_FACTORS_MOST];
    uint32_t count;
    Text source;
} ModelTerm;

typedef enum ModelHow {
    MODEL_SET,
    MODEL_STATE /* the same in all modes */,
    MODEL_VARIES /* each mode has its own */
} ModelHow;

typedef struct ModelSet {
    ModelHow how;
    unsigned parameter; /* of the element */
    bool drop;          /* not the parameter itself: the volts that the junction drops at `drop_at` A */
    double drop_at;
    bool rest; /* not a parameter of its own: what the set numbered `of` leaves of the terms */
    uint32_t of;
    ModelTerm terms[MODEL_TERMS_MOST]; /* the first that is known counts */
    uint32_t term_count;
    uint32_t number; /* among the model's sets */
} ModelSet;

typedef enum ModelEndSort {
    END_PIN,
    END_INNER,
    END_SUPPLY,
    END_GROUND,
    END_EACH /* every pin that nothing else takes */
} ModelEndSort;

typedef struct ModelEnd {
    ModelEndSort sort;
    uint32_t number; /* position of the pin, or of the inner node */
} ModelEnd;

typedef struct ModelElement {
    CircuitKind kind;
    ModelEnd ends[CIRCUIT_TERMINALS];
    ModelSet sets[MODEL_SETS_MOST];
    uint32_t set_count;
} ModelElement;

typedef struct Model {
    const BenchKind *kind;
    LIST(ModelElement) elements;
    uint32_t set_count, inner_count;
    Text inner[MODEL_INNER_MOST];
    bool plugs; /* a source that is there only when nothing else feeds the circuit, or when it is pressed */
    bool open;  /* carries no steady current, and that is known: no assumption */
    const LoreLine *line;
} Model;

/* How far a meter of the usual sort is off: a share of the reading, and a floor. */
typedef struct Accuracy {
    double share, floor;
    double ohms; /* that it loads a voltage with; 0: none */
    bool said;
} Accuracy;

typedef enum Mistake {
    MISTAKE_DECIMAL,  /* a reading ten, a hundred or a thousand times too large or small */
    MISTAKE_PLACE,    /* a reading taken at a neighbouring net */
    MISTAKE_SLIP,     /* a reading that is wrong in some other way */
    MISTAKE_BAND,     /* a value misread by one band or digit */
    MISTAKE_POWER,    /* a value misread by a power of ten */
    MISTAKE_GUESS,    /* a value that was guessed is another */
    MISTAKE_JOIN,     /* two nets are joined that the notes keep apart */
    MISTAKE_JOINT,    /* a pin has no joint, or a part of two pins is open */
    MISTAKE_SHORT,    /* a part is shorted */
    MISTAKE_TURNED,   /* pins of a transistor or diode exchanged */
    MISTAKE_POLARITY, /* npn taken for pnp, n-channel for p-channel */
    MISTAKE_FAMILY,   /* bipolar taken for field-effect */
    MISTAKE_FLAT,     /* a battery nearly flat */
    MISTAKE_LOAD,     /* something more hangs on a supply */
    MISTAKE_DRIVE,    /* a pin is driven another way than noted */
    MISTAKE_SWITCH,   /* a switch stands the other way */
    MISTAKE_OTHER,    /* anything else, or two mistakes at once */
    MISTAKE_COUNT
} Mistake;

typedef struct MistakeWeight {
    double decibans;
    const LoreLine *line;
} MistakeWeight;

struct SumsModels {
    Arena *arena;
    const Lore *lore;
    const Model **of_kind; /* size bench_kind_count: own or inherited, NULL where there is none */
    Accuracy volts, amperes, watts, ohms;
    MistakeWeight mistakes[MISTAKE_COUNT];
};

const Model *model_of(const SumsModels *models, const BenchKind *kind); /* NULL: none */

#endif
