#include "sums/formulas.h"

double train_speed(double speed, const NoteRatio *stages, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) speed *= stages[i].driving / stages[i].driven;
    return speed;
}

const RecordingRate *recording_rates(size_t *count) {
    static const RecordingRate rates[] = {
        {"16 bit PCM", 16, 0, "linear PCM, 16 bits a sample"},
        {"8 bit PCM", 8, 0, "linear PCM, or A-law and mu-law of ITU-T G.711 (from memory), 8 bits a sample"},
        {"4 bit ADPCM", 4, 0, "ADPCM, 4 bits a sample: ITU-T G.726 at 32 kbit/s (from memory)"},
        {"MP3 at 64 kbit/s", 0, 64e3, "speech and plain music in MPEG layer III: common practice"},
        {"speech at 16 kbit/s", 0, 16e3, "sub-band and vector coders of toys: common practice"},
    };
    *count = sizeof rates / sizeof rates[0];
    return rates;
}
