// The mat's edge is a ruler, as on a cutting mat: millimetres of the board, wherever it is moved.
const SVG = 'http://www.w3.org/2000/svg'
const NEAR = 7 // units between ticks, at least
const SHORT = 6
const LONG = 12

export class Ruler {
  constructor(group) {
    this.ticks = document.createElementNS(SVG, 'path')
    this.names = document.createElementNS(SVG, 'g')
    group.append(this.ticks, this.names)
    this.group = group
  }

  hide() { this.group.setAttribute('visibility', 'hidden') }

  /* scale: CSS pixels a millimetre; x, y: where millimetre 0 is; unit: CSS pixels */
  draw({ scale, x, y, unit }, width, height) {
    const [short, long, beside] = [SHORT * unit, LONG * unit, (LONG + 2) * unit]
    const step = [0.1, 0.5, 1, 5, 10, 50, 100].find(mm => mm * scale >= NEAR * unit) ?? 500
    const path = []
    const names = []
    for (const [along, zero, down] of [[width, x, false], [height, y, true]])
      for (let n = Math.ceil(-zero / scale / step); zero + n * step * scale < along; n++) {
        const at = Math.round(zero + n * step * scale) + 0.5
        const tick = n % 5 === 0 ? long : short
        path.push(down ? `M0 ${at}h${tick}` : `M${at} 0v${tick}`)
        if (n % 10 === 0) names.push(this.name(`${+(n * step).toFixed(1)}`, down ? [beside, at + 4 * unit] : [at + 3 * unit, beside]))
      }
    this.ticks.setAttribute('d', path.join(''))
    this.names.replaceChildren(...names)
    this.group.setAttribute('visibility', 'visible')
  }

  name(says, [x, y]) {
    const text = document.createElementNS(SVG, 'text')
    text.setAttribute('x', x)
    text.setAttribute('y', y)
    text.textContent = says
    return text
  }
}
