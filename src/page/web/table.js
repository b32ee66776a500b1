// The table: which picture lies on it, its copper lit by net, its parts, and what a click does. Whatever is done is a note.
import { Doubts } from './doubts.js'
import { schematic } from './drawing.js'
import { View } from './view.js'

const SVG = 'http://www.w3.org/2000/svg'
const shape = (name, attributes) => {
  const element = document.createElementNS(SVG, name)
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value)
  return element
}
const said = ([x, y], digits = 2) => `${x.toFixed(digits)},${y.toFixed(digits)}`

const FINGER = 22 // CSS pixels: half of what a gloved finger needs

/* What a click can do: how many places it takes (0: as many as one likes), and the note that comes of them. */
const DEEDS = [
  { name: 'look', says: 'Light a net', on: 'board' },
  { name: 'measure', says: 'Measure', places: 2, on: 'board' },
  { name: 'join', says: 'Join', places: 2, on: 'board', note: (t, p) => `join ${p[0]} ${p[1]} on ${t.where()} by eye` },
  { name: 'apart', says: 'Apart', places: 2, on: 'board', note: (t, p) => `apart ${p[0]} ${p[1]} on ${t.where()} by eye` },
  { name: 'cut', says: 'Cut', places: 1, on: 'board', note: (t, p) => `cut ${t.where()} at ${p[0]}` },
  { name: 'bridge', says: 'Bridge', places: 2, on: 'board', note: (t, p) => `bridge ${t.where()} ${p[0]} ${p[1]}` },
  { name: 'hidden', says: 'Hidden', places: 4, on: 'board', note: (t, p) => `hidden ${t.where()} ${p.join(' ')}` },
  { name: 'place', says: 'Place a part', places: 2, on: 'board', note: (t, p) => `part ? on ${t.where()} pin 1 at ${p[0]} pin 5 at ${p[1]}` },
  { name: 'mark', says: 'Callout', places: 1, on: 'board', note: (t, p) => `mark ${t.where()} at ${p[0]} "?"` },
  { name: 'spot', says: 'Callout', places: 1, on: 'photo', note: (t, p) => `mark ${t.file()} at ${p[0]} "?"` },
  { name: 'corners', says: 'Corners', places: 4, on: 'photo', note: (t, p) => `photo ? bottom ${t.file()} corners ${p.join(' ')}` },
]
const ASKS = {
  look: 'Click copper: all of its net lights up.',
  measure: 'Click two places.',
  join: 'Click the two places that are joined.', apart: 'Click the two places that are not joined.', cut: 'Click where the track is cut.',
  bridge: 'Click the two ends of the wire or the solder.', hidden: 'Click the four corners of what covers the board.',
  place: 'Click pin 1, then the pin opposite to it; say in the note which pin that is.',
  mark: 'Click what is to be pointed out.', spot: 'Click what is to be pointed out.',
  corners: 'Click the board’s corners as you see them: top left, top right, bottom right, bottom left.',
}

export class Table {
  constructor({ put, add, boards, open }) {
    Object.assign(this, { put, boards, open })
    this.mat = document.getElementById('mat')
    this.over = document.getElementById('world')
    this.choice = document.getElementById('picture')
    this.saying = document.getElementById('saying')
    this.deeds = document.getElementById('deeds')
    this.bare = document.getElementById('bare')
    this.places = []
    this.parts = []
    this.view = new View(this.mat, { onMove: view => this.scaled(view), onTap: (place, target) => this.tapped(place, target) })
    this.doubts = new Doubts({ add, view: this.view, mark: (doubt, at) => this.markDoubt(doubt, at) })
    this.choice.addEventListener('change', () => this.lay(this.choice.value))
    document.getElementById('nearer').addEventListener('click', () => this.view.zoom(1.5))
    document.getElementById('farther').addEventListener('click', () => this.view.zoom(1 / 1.5))
    document.getElementById('fit').addEventListener('click', () => this.view.picture && this.view.fit())
    this.deeds.addEventListener('click', event => event.target.dataset.deed && this.choose(event.target.dataset.deed))
  }

  where() { return `${this.picture.name} ${this.picture.face}` }
  file() { return /[\s"(),=:#]/.test(this.picture.file) ? `"${this.picture.file}"` : this.picture.file }

  /* ---- pictures ---- */

  async refresh() {
    const answer = await fetch('boards')
    if (!answer.ok) return
    const { pictures, boards, parts } = await answer.json()
    this.pictures = parts > 0 ? [...pictures, { id: 'schematic', title: 'Schematic', drawing: true }] : pictures
    this.boards(boards)
    const before = this.picture
    this.choice.replaceChildren(...this.pictures.map(({ id, title }) => new Option(title, id)))
    this.choice.disabled = this.pictures.length === 0
    this.bare.hidden = this.pictures.length > 0
    const same = this.pictures.find(picture => picture.title === before?.title) ?? this.pictures[0]
    if (same) await this.lay(same.id)
  }

  picturesChanged() { if (this.picture && !this.ready) this.lay(this.picture.id) }

  async lay(id) {
    const picture = this.pictures.find(one => one.id === id)
    const changed = picture.title !== this.picture?.title
    this.picture = picture
    this.choice.value = id
    if (changed) this.showDeeds()
    if (picture.drawing) return this.layDrawing(picture)
    const answer = await fetch(`picture?id=${id}`)
    if (!answer.ok || this.picture !== picture) return
    const size = await answer.json()
    const before = this.ready
    this.ready = size.ready
    if (!size.ready) {
      this.say(size.failed ? 'This photo can’t be read.' : 'Laying the photo on the table …')
      return
    }
    if (changed || !before) this.say(picture.straight ? ASKS.look : '')
    const units = picture.straight ? [picture.width, picture.height] : [size.width, size.height]
    if (this.view.picture?.id !== id) this.view.show({ id, key: picture.title, units, pixels: [size.width, size.height], levels: size.levels, side: size.side })
    await this.drawOver(picture)
    this.doubts.show(picture.doubts ?? [])
  }

  async layDrawing(picture) {
    const drawing = await schematic()
    if (!drawing || this.picture !== picture) return
    const units = [drawing.width, drawing.height]
    this.ready = true
    this.view.show({ key: picture.title, units, pixels: units, levels: 0 })
    this.over.replaceChildren(drawing.element)
    this.copper = this.pads = this.doubtMarks = this.hand = undefined
    this.doubts.show([])
    this.relight()
    this.say(drawing.says)
  }

  async drawOver(picture) {
    const layers = ['copper', 'pads', 'doubts', 'hand'].map(name => shape('g', { class: name }))
    ;[this.copper, this.pads, this.doubtMarks, this.hand] = layers
    if (picture.straight) {
      const answer = await fetch(`copper?id=${picture.id}`)
      if (!answer.ok || this.picture !== picture) return
      const svg = new DOMParser().parseFromString(await answer.text(), 'image/svg+xml').documentElement
      this.copper.append(...[...svg.children].map(path => document.importNode(path)))
      for (const pad of picture.pads) {
        const dot = shape('circle', { cx: pad.at[0], cy: pad.at[1], r: 0.45, 'data-part': pad.part, 'data-pin': pad.pin, 'data-net': pad.net })
        dot.append(Object.assign(shape('title', {}), { textContent: pad.pin }))
        this.pads.append(dot)
      }
    }
    this.over.replaceChildren(...layers)
    this.relight()
    this.drawHand()
  }

  scaled(view) { this.over.style.setProperty('--px', String(1 / view.scale)) }
  say(text) { this.saying.textContent = text }

  /* ---- light ---- */

  lightNet(net, name) {
    this.net = this.net === net ? undefined : net
    this.relight()
    const pins = this.picture.pads.filter(pad => String(pad.net) === this.net).map(pad => pad.pin)
    if (this.net === undefined) this.say('')
    else this.say(`${name}${pins.length ? `: ${[...new Set(pins)].join(', ')}` : ': no placed pin meets it'}`)
  }

  lightParts(parts) {
    this.parts = parts
    this.relight()
  }

  relight() {
    const parts = new Set(this.parts)
    for (const path of this.copper?.children ?? []) path.classList.toggle('lit', path.dataset.net === this.net)
    for (const dot of this.pads?.children ?? []) {
      dot.classList.toggle('lit', dot.dataset.net === this.net && this.net !== undefined)
      dot.classList.toggle('about', parts.has(dot.dataset.part))
    }
    if (!this.picture?.drawing) return
    for (const part of this.over.querySelectorAll('[data-ref]')) part.classList.toggle('about', parts.has(part.dataset.ref))
    for (const wire of this.over.querySelectorAll('[data-net]')) wire.classList.toggle('lit', wire.dataset.net === this.wire)
  }

  markDoubt(doubt, at) {
    this.doubtMarks?.replaceChildren()
    if (!doubt || !this.doubtMarks) return
    for (const end of [doubt.a, doubt.b]) this.doubtMarks.append(shape('circle', { class: 'probe', cx: end[0], cy: end[1], r: 0.5 }))
    this.doubtMarks.append(shape('circle', { class: 'spot', cx: at[0], cy: at[1], r: 0.8 }))
  }

  /* ---- deeds ---- */

  showDeeds() {
    const on = this.picture.drawing ? 'drawing' : this.picture.straight ? 'board' : 'photo'
    this.deeds.replaceChildren(...DEEDS.filter(deed => deed.on === on).map(deed => {
      const button = document.createElement('button')
      button.type = 'button'
      button.dataset.deed = deed.name
      button.textContent = deed.says
      button.setAttribute('aria-pressed', 'false')
      return button
    }))
    this.choose(on === 'board' ? 'look' : undefined)
  }

  choose(name) {
    this.deed = DEEDS.find(deed => deed.name === name)
    this.places = []
    this.drawHand()
    for (const button of this.deeds.children) button.setAttribute('aria-pressed', String(button.dataset.deed === name))
    this.say(ASKS[name] ?? '')
  }

  tapped(place, target) {
    if (this.picture.drawing) return this.tappedDrawing(place, target)
    if (!this.deed) return
    if (this.deed.name === 'look') {
      if (target?.dataset?.net && target.dataset.net !== '0')
        this.lightNet(target.dataset.net, this.copper.querySelector(`[data-net="${target.dataset.net}"]`)?.dataset.name ?? '')
      return
    }
    if (this.places.length === this.deed.places) this.places = []
    this.places.push(place)
    this.drawHand()
    if (this.places.length < this.deed.places) return
    if (this.deed.name === 'measure') this.sayDistance()
    else this.put(this.deed.note(this, this.places.map(spot => (this.picture.straight ? said(this.toTop(spot)) : said(spot, 0)))))
  }

  tappedDrawing(place, target) {
    const part = target?.closest?.('[data-ref]') ?? this.nearestPart(place)
    const wire = target?.closest?.('[data-net]')
    this.lightParts(part ? [part.dataset.ref] : [])
    if (part?.dataset.claim) this.open(part.dataset.claim)
    if (part || !wire) return
    this.wire = wire.dataset.net
    this.relight()
    this.say(this.wire)
  }

  /* Symbols are lines: a finger means the one it is on or next to, the smallest of them. */
  nearestPart([x, y]) {
    const mat = this.mat.getBoundingClientRect()
    const [px, py] = [mat.left + this.view.x + x * this.view.scale, mat.top + this.view.y + y * this.view.scale]
    const near = [...this.over.querySelectorAll('[data-ref]')].map(part => {
      const box = part.getBoundingClientRect()
      const far = Math.hypot(Math.max(box.left - px, 0, px - box.right), Math.max(box.top - py, 0, py - box.bottom))
      return { part, far, area: box.width * box.height }
    })
    return near.filter(({ far }) => far < FINGER).sort((a, b) => a.far - b.far || a.area - b.area)[0]?.part
  }

  sayDistance() {
    const [[ax, ay], [bx, by]] = this.places
    this.say(`${Math.hypot(bx - ax, by - ay).toFixed(2)} mm`)
  }

  drawHand() {
    this.hand?.replaceChildren()
    if (!this.hand) return
    if (this.places.length > 1) this.hand.append(shape('polyline', { points: this.places.map(place => place.join(' ')).join(' ') }))
    for (const [x, y] of this.places) this.hand.append(shape('circle', { cx: x, cy: y, r: this.picture.straight ? 0.3 : 12 }))
  }

  /* From the picture's millimetres to the board's own, seen from the top: mirrored when it is the bottom's, then a homography. */
  toTop([x, y]) {
    const m = this.picture.to_top
    const seen = this.picture.face === 'bottom' ? this.picture.width - x : x
    const w = m[6] * seen + m[7] * y + m[8]
    return [(m[0] * seen + m[1] * y + m[2]) / w, (m[3] * seen + m[4] * y + m[5]) / w]
  }
}
