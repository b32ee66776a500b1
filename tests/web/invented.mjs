// An invented teardown of many parts: a wall of lamps, each with a chip, a transistor, an LED and what they need. Nobody makes it.
const MARKS = ['101', '102', '103', '472', '223', '104', '331', '000']

const lamp = n => [
  `part U${n} SOP-8 marked ""`,
  `part Q${n} SOT-23 npn marked "J3Y"`,
  `part R${3 * n} 0805 marked "${MARKS[n % 8]}"`,
  `part R${3 * n + 1} 0805 marked "102"`,
  `part R${3 * n + 2} 0805 marked "331"`,
  `part C${n} 0603 100nF`,
  `part D${n} led-red`,
  `join U${n}.8 C${n}.1 VDD by meter`,
  `join U${n}.4 C${n}.2 Q${n}.E GND by meter`,
  `join U${n}.1 R${3 * n + 1}.1`,
  `join R${3 * n + 1}.2 Q${n}.B by meter`,
  `join Q${n}.C D${n}.K`,
  `join D${n}.A R${3 * n + 2}.1`,
  `join R${3 * n + 2}.2 VDD`,
  `join U${n}.2 R${3 * n}.1`,
  `join R${3 * n}.2 VDD`,
]

/* The notes of so many lamps: seven parts each, and a battery. */
export const wall = lamps => [
  'product "A wall of lamps (invented)" household',
  'part BT1 battery 4 x LR6',
  'net GND BT1.-',
  'net VDD BT1.+',
  'mode idle',
  'read v(VDD) = 6.1 V in idle by meter',
  ...Array.from({ length: lamps }, (_, i) => lamp(i + 1)).flat(),
]
