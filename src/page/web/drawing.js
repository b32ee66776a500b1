// Drawings that follow from the notes, the schematic and the block diagram: their sheets one below the other, in millimetres.
const GAP = 12 // millimetres between sheets
const EDGE = 4 // of the paper round a drawing
const styled = new Map() // what a drawing brings of style, adopted once

function adopt(css) {
  if (styled.has(css)) return
  const sheet = new CSSStyleSheet()
  sheet.replaceSync(css)
  styled.set(css, sheet)
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet]
}

/* One sheet as an element of the page; its style is taken out before it is read: the page applies no inline style. */
function read(written) {
  const [, css] = /<style>([^<]*)<\/style>/.exec(written) ?? []
  if (css) adopt(css)
  const bare = written.replace(/<style>[^<]*<\/style>/, '')
  const svg = document.importNode(new DOMParser().parseFromString(bare, 'image/svg+xml').documentElement, true)
  const [, , width, height] = svg.getAttribute('viewBox').split(' ').map(Number)
  return { svg, width, height }
}

function paper(y, width, height) {
  const sheet = document.createElementNS('http://www.w3.org/2000/svg', 'rect')
  for (const [name, value] of Object.entries({ class: 'blank', x: -EDGE, y: y - EDGE, width: width + 2 * EDGE, height: height + 2 * EDGE })) sheet.setAttribute(name, value)
  return sheet
}

async function asked(what) {
  const answer = await fetch(what)
  return answer.ok ? answer.text() : '{"sheets": []}'
}

function says(what, { volts, mode }) {
  if (what === 'blocks') return 'Click a block to open what is claimed of it, an arrow to light its net.'
  return `${volts ? `Volts are computed${mode ? ` for the mode ${mode}` : ''}. ` : ''}Click a part to open what is claimed of it, a wire to light its net.`
}

/* {told, width, height, element, says}; without an element when there is nothing to draw. `before`: what this gave last, which it
 * gives again when the drawing is the same. */
export async function drawing(what, before) {
  const told = await asked(what)
  if (before?.told === told) return before
  const found = JSON.parse(told)
  if (found.sheets.length === 0) return { told }
  const element = document.createElementNS('http://www.w3.org/2000/svg', 'g')
  element.setAttribute('class', 'paper')
  let [wide, high] = [0, 0]
  for (const { svg: written } of found.sheets) {
    const { svg, width, height } = read(written)
    svg.setAttribute('width', width)
    svg.setAttribute('height', height)
    svg.setAttribute('y', high)
    element.append(paper(high, width, height), svg)
    wide = Math.max(wide, width)
    high += height + GAP
  }
  return { told, element, width: wide, height: high - GAP, says: says(what, found) }
}

/* {told, svg}: the first sheet by itself, as wide as its room; without an svg when there is none. */
export async function figure(what, before) {
  const told = await asked(what)
  if (before?.told === told) return before
  const [first] = JSON.parse(told).sheets
  if (!first) return { told }
  const { svg } = read(first.svg)
  svg.removeAttribute('width')
  svg.removeAttribute('height')
  return { told, svg }
}
