// The schematic on the table: its sheets one below the other, as one drawing in millimetres.
const GAP = 8 // millimetres between sheets
const styled = new Map() // what a drawing brings of style, adopted once

function adopt(css) {
  if (styled.has(css)) return
  const sheet = new CSSStyleSheet()
  sheet.replaceSync(css)
  styled.set(css, sheet)
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet]
}

/* null when there is none; else {width, height, element, says}. */
export async function schematic() {
  const answer = await fetch('schematic')
  if (!answer.ok) return null
  const { sheets, volts, mode } = await answer.json()
  if (sheets.length === 0) return null
  const element = document.createElementNS('http://www.w3.org/2000/svg', 'g')
  element.setAttribute('class', 'paper')
  let height = 0
  for (const sheet of sheets) {
    const [, css] = /<style>([^<]*)<\/style>/.exec(sheet.svg) ?? [] // taken out before it is read: the page applies no inline style
    if (css) adopt(css)
    const written = sheet.svg.replace(/<style>[^<]*<\/style>/, '')
    const svg = document.importNode(new DOMParser().parseFromString(written, 'image/svg+xml').documentElement, true)
    svg.setAttribute('width', sheet.width)
    svg.setAttribute('height', sheet.height)
    svg.setAttribute('y', height)
    element.append(svg)
    height += sheet.height + GAP
  }
  const said = volts ? `Volts are computed${mode ? ` for the mode ${mode}` : ''}. ` : ''
  return { element, width: Math.max(...sheets.map(sheet => sheet.width)), height: height - GAP, says: `${said}Click a part to open what is claimed of it.` }
}
