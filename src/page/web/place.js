// A part to be placed: which, in which package, and how its outline lies between two clicks.
import { Offers } from './offers.js'
import { shape } from './overlay.js'

const SLACK = 0.1 // two pins and an outline may differ by this fraction, as the bench has it

/* Turn and shift that bring two places of the outline nearest to two on the board; mirror: it is seen from below. */
function posed({ pins, ends, size, round }, [one, other], mirror) {
  const side = mirror ? -1 : 1
  const [, ax, ay] = pins[ends[0]]
  const [, bx, by] = pins[ends[1]]
  const from = [side * (bx - ax), by - ay]
  const to = other ? [other[0] - one[0], other[1] - one[1]] : from // upright until it is known
  const far = Math.hypot(...from) * Math.hypot(...to) || 1
  const c = (from[0] * to[0] + from[1] * to[1]) / far
  const s = (from[1] * to[0] - from[0] * to[1]) / far
  const turned = (x, y) => [c * side * x + s * y, -s * side * x + c * y]
  const [a, b] = [turned(ax, ay), turned(bx, by)]
  const shift = [0, 1].map(i => (other ? (one[i] + other[i] - a[i] - b[i]) / 2 : one[i] - a[i]))
  const at = (x, y) => turned(x, y).map((value, i) => value + shift[i])
  const [w, h] = size.map(value => value / 2)
  return { round, ends, radius: Math.min(w, h), ring: [at(-w, -h), at(w, -h), at(w, h), at(-w, h)], pins: pins.map(([label, x, y]) => [label, ...at(x, y)]) }
}

export class PlaceForm {
  constructor(changed) {
    this.changed = changed
    this.form = document.getElementById('place')
    this.ref = document.getElementById('place-ref')
    this.what = document.getElementById('place-what')
    this.far = document.getElementById('place-far')
    this.drawn = document.getElementById('place-drawn')
    const list = document.getElementById('place-offers')
    const help = { taken: () => this.typed() }
    this.offers = new Map([
      [this.ref, new Offers(this.ref, list, { ...help, before: () => 'part ' })],
      [this.what, new Offers(this.what, list, { ...help, before: () => `part ${this.ref.value.trim() || 'X1'} ` })],
    ])
    for (const [input, offers] of this.offers) {
      input.addEventListener('input', () => this.typed(offers))
      input.addEventListener('keydown', event => offers.key(event))
    }
    this.far.addEventListener('change', () => { this.turned = true; this.changed() })
    this.form.addEventListener('submit', event => { event.preventDefault(); document.getElementById('mat').focus() })
  }

  know(picture) { this.picture = picture }

  open(open) {
    this.form.hidden = !open
    if (open) this.look()
  }

  typed(offers) {
    clearTimeout(this.timer)
    this.timer = setTimeout(() => {
      offers?.ask().catch(() => {}) // away: live.js says so
      this.look()
    }, 60)
  }

  /* What the note would mean: kind, package, pins. */
  async look() {
    const ref = this.ref.value.trim()
    const note = `part ${ref} ${this.what.value.trim()}`
    try {
      const found = ref ? await fetch(`outline?note=${encodeURIComponent(note)}`).then(answer => answer.json()) : { ok: false }
      if (`part ${this.ref.value.trim()} ${this.what.value.trim()}` !== note) return
      this.found = found.ok ? found : undefined
    } catch { return }
    if (!this.turned) this.far.checked = Boolean(this.found?.package) && this.found.through && this.picture?.face === 'bottom'
    this.show()
    this.changed()
  }

  get ready() { return Boolean(this.found) }
  get labels() { return this.found.ends.map(end => this.found.pins[end][0]) }

  /* The outline by itself, with its two ends. */
  show() {
    this.drawn.replaceChildren()
    this.drawn.setAttribute('aria-label', this.found?.package ? `Outline of ${this.found.package}, ${this.found.pins.length} pins` : 'No outline')
    if (!this.found?.package) return
    const { size, pins } = this.found
    const outline = posed(this.found, [[pins[this.found.ends[0]][1], pins[this.found.ends[0]][2]]], false)
    const most = Math.max(...size) * 1.15
    this.drawn.setAttribute('viewBox', `${-most / 2} ${-most / 2} ${most} ${most}`)
    this.drawn.append(outline.round ? shape('circle', { class: 'body', r: outline.radius }) : shape('polygon', { class: 'body', points: outline.ring.map(place => place.join(' ')).join(' ') }))
    this.drawn.append(...outline.pins.map(([label, x, y], i) => shape('circle', { class: outline.ends.includes(i) ? 'end' : 'pin', cx: x, cy: y, r: most / 28 }, label)))
    for (const end of outline.ends) {
      const [label, x, y] = outline.pins[end]
      const text = shape('text', { x: x * 0.62, y: y * 0.62, 'font-size': most / 7 })
      text.textContent = label
      this.drawn.append(text)
    }
  }

  asks(count) {
    if (!this.ready) return 'Say which part it is and what package it has; its outline is drawn here.'
    const { ref, package: name, kind } = this.found
    const label = this.labels[count === 0 ? 0 : 1]
    return count === 0 ? `${ref}, ${name || kind}: click pin ${label}.` : `Now click pin ${label}, the farthest from it.`
  }

  outlineAt(places) {
    if (!this.found?.package || places.length === 0) return undefined
    return posed(this.found, places, this.mirrored)
  }

  /* Through the board a part is seen from behind. */
  get mirrored() { return this.far.checked }

  /* Why two places can't be its pins; undefined when they can. */
  wrong([one, other]) {
    if (!this.ready) return 'Which part is it? Say so first.'
    if (!this.found.package) return undefined
    const [a, b] = this.found.ends.map(end => this.found.pins[end])
    const meant = Math.hypot(a[1] - b[1], a[2] - b[2])
    const is = Math.hypot(one[0] - other[0], one[1] - other[1])
    if (Math.abs(is / meant - 1) <= SLACK) return undefined
    return `Pins ${a[0]} and ${b[0]} are ${is.toFixed(2)} mm apart here, but ${meant.toFixed(2)} mm on ${this.found.package}. Click pin ${b[0]} again, or Done to keep it so.`
  }

  note([one, other]) {
    const side = this.far.checked === (this.picture.face === 'bottom') ? 'top' : 'bottom'
    const what = this.what.value.trim()
    return `part ${this.found.ref}${what ? ` ${what}` : ''} on ${this.picture.name} ${side} pin ${this.labels[0]} at ${one} pin ${this.labels[1]} at ${other}`
  }

  /* The next of its sort. */
  next() {
    const [, letters, number] = /^(.*?)(\d+)$/.exec(this.ref.value.trim()) ?? []
    this.ref.value = number === undefined ? '' : `${letters}${Number(number) + 1}`
    this.look()
  }
}
