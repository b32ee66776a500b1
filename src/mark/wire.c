/* American wire gauge of ASTM B258 (from memory): diameters are a geometric series in which gauge 36 is 0.005 inch and
 * gauge 4/0 is 0.46 inch, 39 steps apart. Resistance is that of annealed copper at 20 °C, 1/58 ohm mm2/m (IEC 60028). */
#include "mark/inside.h"

#include <math.h>

enum { GAUGE_FINEST = 50, GAUGE_FIRST = -3 /* 4/0 */ };

static const double OHM_METRE = 1.0 / 58e6;

/* `24`, `4/0`, `000`: the gauge; false when it is none. */
static bool take_gauge(Text t, int *gauge) {
    t = text_trim(t);
    if (t.len == 3 && t.at[1] == '/' && t.at[2] == '0' && t.at[0] >= '1' && t.at[0] <= '4')
        return *gauge = 1 - (t.at[0] - '0'), true;
    if (!text_all_digits(t) || t.len > 4) return false;
    bool zeros = text_number(t) == 0;
    *gauge = zeros ? 1 - (int)t.len : text_number(t);
    return *gauge >= GAUGE_FIRST && *gauge <= GAUGE_FINEST && (zeros || t.len <= 2);
}

void read_wire(Reader *reader) {
    Text t = reader->whole;
    int gauge;
    bool front = t.len > 3 && text_same_folded(text_sub(t, 0, 3), TEXT("AWG"));
    bool back = t.len > 3 && text_same_folded(text_sub(t, t.len - 3, 3), TEXT("AWG"));
    if (front == back && !reader_asked(reader, "wire")) return;
    if (front) t = text_sub(t, t.at[3] == '#' ? 4 : 3, t.len);
    if (back) t = text_sub(t, 0, t.len - 3);
    if (!take_gauge(t, &gauge)) {
        reader->refused = TEXT("wire gauges of ASTM B258 run from 4/0 over 0 to 50");
        return;
    }
    double diameter = 0.127e-3 * pow(92, (36 - gauge) / 39.0), area = 3.14159265358979 / 4 * diameter * diameter;
    double resistance = OHM_METRE / area;
    Text says =
        text_fmt(reader->arena, "wire of %.4g mm, %.4g mm², %.4g mΩ/m", diameter * 1e3, area * 1e6, resistance * 1e3);
    Draft *draft = reading_add(reader, FORM_WIRE, 0, says);
    reading_value(draft, quantity_exact(diameter, UNIT_METRE));
    reading_field(reader, draft, "diameter", text_fmt(reader->arena, "%.4g mm", diameter * 1e3));
    reading_field(reader, draft, "area", text_fmt(reader->arena, "%.4g mm²", area * 1e6));
    reading_field(reader, draft, "resistance", text_fmt(reader->arena, "%.4g mΩ/m", resistance * 1e3));
    reading_assume(reader, draft, "one solid wire of annealed copper at 20 °C");
}
