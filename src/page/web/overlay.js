// What lies over a picture: its copper, parts, pins and callouts as the notes have them, what is lit, what is in doubt, and the
// marks of the hand. Places are in the picture's own measure.
const SVG = 'http://www.w3.org/2000/svg'
export const shape = (name, attributes = {}, says) => {
  const element = document.createElementNS(SVG, name)
  for (const [key, value] of Object.entries(attributes)) if (value !== undefined) element.setAttribute(key, value)
  if (says) element.append(Object.assign(document.createElementNS(SVG, 'title'), { textContent: says }))
  return element
}
const list = places => places.map(place => place.join(' ')).join(' ')
const middle = ring => [0, 1].map(i => ring.reduce((sum, place) => sum + place[i], 0) / ring.length)

const LAYERS = ['copper', 'shapes', 'parts', 'pads', 'callouts', 'doubts', 'hand']

export class Overlay {
  constructor(world) {
    this.world = world
    this.layers = {}
  }

  clear(...instead) {
    this.layers = {}
    this.world.replaceChildren(...instead)
  }

  holds(element) { return element?.parentNode === this.world }

  async show(picture, still) {
    const layers = Object.fromEntries(LAYERS.map(name => [name, shape('g', { class: name })]))
    if (picture.straight) {
      const answer = await fetch(`copper?id=${picture.id}`)
      if (!answer.ok || !still()) return false
      const svg = new DOMParser().parseFromString(await answer.text(), 'image/svg+xml').documentElement
      layers.copper.append(...[...svg.children].map(path => document.importNode(path)))
      layers.pads.append(...picture.pads.map(pad => shape('circle', { cx: pad.at[0], cy: pad.at[1], r: 0.45, 'data-part': pad.part, 'data-pin': pad.pin, 'data-net': pad.net }, pad.pin)))
      layers.shapes.append(...picture.shapes.map(noted => this.noted(noted)))
      for (const part of picture.parts) this.addPart(layers.parts, part)
      this.nameOthers(layers.parts, picture)
    }
    for (const callout of picture.callouts) this.addCallout(layers.callouts, callout)
    this.layers = layers
    this.world.replaceChildren(...LAYERS.map(name => layers[name]))
    return true
  }

  noted({ sort, at, line }) {
    const says = `${sort}, line ${line}`
    if (sort === 'hidden') return shape('polygon', { class: sort, points: list(at) }, says)
    if (sort === 'bridge') return shape('polyline', { class: sort, points: list(at) }, says)
    return shape('circle', { class: sort, cx: at[0][0], cy: at[0][1], r: 0.4 }, says)
  }

  addPart(layer, { ref, ring, round, far, first }) {
    const [x, y] = middle(ring)
    const across = Math.min(Math.hypot(ring[1][0] - ring[0][0], ring[1][1] - ring[0][1]), Math.hypot(ring[2][0] - ring[1][0], ring[2][1] - ring[1][1]))
    const group = shape('g', { 'data-ref': ref, class: far ? 'far' : undefined })
    group.append(round ? shape('circle', { cx: x, cy: y, r: across / 2 }) : shape('polygon', { points: list(ring) }))
    if (first) group.append(shape('circle', { class: 'first', cx: first[0], cy: first[1], r: 0.18 }))
    const name = shape('text', { x, y, 'font-size': Math.min(1.3, Math.max(0.6, across * 0.6)) })
    name.textContent = ref
    group.append(name)
    layer.append(group)
  }

  /* Parts without an outline are named where their pins are. */
  nameOthers(layer, { parts, pads }) {
    const drawn = new Set(parts.map(part => part.ref))
    const spots = Map.groupBy(pads.filter(pad => !drawn.has(pad.part)), pad => pad.part)
    for (const [ref, own] of spots) {
      const [x, y] = middle(own.map(pad => pad.at))
      const group = shape('g', { 'data-ref': ref })
      const name = shape('text', { x, y: own.length > 1 ? y : y - 1, 'font-size': 1 })
      name.textContent = ref
      group.append(name)
      layer.append(group)
    }
  }

  addCallout(layer, { at, number, says, line }) {
    const group = shape('g', { transform: `translate(${at[0]} ${at[1]})` }, `${number}: ${says} (line ${line})`)
    const text = shape('text')
    text.textContent = number
    group.append(shape('path', { d: 'M0 0L1 -1' }), shape('circle', { class: 'spot' }), shape('circle', { class: 'number' }), text)
    layer.append(group)
  }

  /* ---- light ---- */

  lit({ net, parts }) {
    const about = new Set(parts)
    const byNet = net === undefined ? about : new Set() // a net's parts are not meant as a whole
    for (const path of this.layers.copper?.children ?? []) path.classList.toggle('lit', path.dataset.net === net)
    for (const dot of this.layers.pads?.children ?? []) {
      dot.classList.toggle('lit', net !== undefined && dot.dataset.net === net)
      dot.classList.toggle('about', byNet.has(dot.dataset.part))
    }
    for (const part of this.world.querySelectorAll('[data-ref]')) part.classList.toggle('about', byNet.has(part.dataset.ref))
    for (const wire of this.world.querySelectorAll('.paper [data-net]')) wire.classList.toggle('lit', wire.dataset.net === net)
  }

  /* Whether anything that is lit can be seen; null when nothing here is lit. */
  litInSight(box) {
    const lit = [...this.world.querySelectorAll('.lit, .about')]
    if (lit.length === 0) return null
    return lit.some(element => {
      const at = element.getBoundingClientRect()
      return at.right > box.left && at.left < box.right && at.bottom > box.top && at.top < box.bottom
    })
  }

  /* ---- doubts and hands ---- */

  markDoubt(doubt) {
    this.layers.doubts?.replaceChildren()
    if (!doubt || !this.layers.doubts) return
    for (const end of [doubt.a, doubt.b]) this.layers.doubts.append(shape('circle', { class: 'probe', cx: end[0], cy: end[1], r: 0.5 }))
    this.layers.doubts.append(shape('circle', { class: 'spot', cx: doubt.at[0], cy: doubt.at[1], r: 0.8 }))
  }

  /* places: set; next: where the next would be set; outline: [{ring, round}], or null; wrong: it does not fit */
  drawHand({ places, next, snapped, closed, outline, wrong, dot }) {
    const layer = this.layers.hand
    if (!layer) return
    layer.replaceChildren()
    layer.setAttribute('class', wrong ? 'hand wrong' : 'hand')
    const line = next && places.length > 0 ? [...places, next] : places
    if (line.length > 1) layer.append(shape(closed && line.length > 2 ? 'polygon' : 'polyline', { points: list(line) }))
    if (outline) {
      layer.append(outline.round ? shape('circle', { class: 'body', cx: middle(outline.ring)[0], cy: middle(outline.ring)[1], r: outline.radius }) : shape('polygon', { class: 'body', points: list(outline.ring) }))
      layer.append(...outline.pins.map(([label, x, y], i) => shape('circle', { class: outline.ends.includes(i) ? 'end' : 'pin', cx: x, cy: y, r: dot * 0.8 }, label)))
    }
    layer.append(...places.map(([x, y]) => shape('circle', { class: 'set', cx: x, cy: y, r: dot })))
    if (next) layer.append(shape('circle', { class: snapped ? 'next snapped' : 'next', cx: next[0], cy: next[1], r: dot * 1.6 }))
  }
}
