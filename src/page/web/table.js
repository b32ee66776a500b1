// The table: which picture lies on it and what lies over that. Whatever is done at it is a note.
import { Doubts } from './doubts.js'
import { drawing } from './drawing.js'
import { FINGER, Hand } from './hand.js'
import { Overlay } from './overlay.js'
import { Ruler } from './ruler.js'
import { View } from './view.js'

const DRAWINGS = [
  { id: 'schematic', title: 'Schematic', drawing: true },
  { id: 'blocks', title: 'Block diagram', drawing: true },
]

export class Table {
  constructor({ put, add, undo, boards, open, light, again, first }) {
    Object.assign(this, { boards, open, light, again, first })
    this.table = document.getElementById('table')
    this.mat = document.getElementById('mat')
    this.choice = document.getElementById('picture')
    this.saying = document.getElementById('saying')
    this.bare = document.getElementById('bare')
    this.world = document.getElementById('world')
    this.overlay = new Overlay(this.world)
    this.ruler = new Ruler(document.getElementById('ruler'))
    this.view = new View(this.mat, {
      onMove: view => this.moved(view),
      onTap: (place, target) => this.tapped(place, target),
      onPoint: place => place ? this.hand.point(place) : this.hand.leave(),
    })
    this.hand = new Hand({ view: this.view, overlay: this.overlay, say: text => this.say(text), put, add, undo, light: name => light.net(name), lay: title => this.want(title) })
    this.doubts = new Doubts({ add, view: this.view, mark: doubt => this.overlay.markDoubt(doubt) })
    this.choice.addEventListener('change', () => this.lay(this.choice.value))
    document.getElementById('nearer').addEventListener('click', () => this.view.zoom(1.5))
    document.getElementById('farther').addEventListener('click', () => this.view.zoom(1 / 1.5))
    document.getElementById('fit').addEventListener('click', () => this.view.picture && this.view.fit())
  }

  say(text) { this.saying.textContent = text }

  /* ---- pictures ---- */

  async refresh() {
    const answer = await fetch('boards')
    if (!answer.ok) return
    const told = await answer.text()
    if (told === this.told && this.ready && !this.picture?.drawing && !this.wanted) return this.again()
    const { pictures, boards, parts } = JSON.parse(told)
    this.pictures = parts > 0 ? [...pictures, ...DRAWINGS] : pictures
    this.noted = boards
    this.boards(boards.map(({ name }) => name))
    this.choice.replaceChildren(...this.pictures.map(({ id, title }) => new Option(title, id)))
    this.choice.disabled = this.pictures.length === 0
    const bare = this.pictures.length === 0
    if (this.table.classList.contains('bare') && !bare && this.told !== undefined) this.first()
    this.table.classList.toggle('bare', bare)
    this.bare.hidden = !bare
    this.told = told
    const wanted = this.pictures.find(picture => picture.title === this.wanted)
    if (wanted) this.wanted = undefined
    const same = wanted ?? this.pictures.find(picture => picture.title === this.picture?.title) ?? this.pictures[0]
    if (same) await this.lay(same.id)
  }

  /* Of a large photo the coarse levels come first. */
  picturesChanged() { if (this.picture && !this.whole) this.lay(this.picture.id) }

  /* Lays a picture on the table as soon as it is there. */
  want(title) {
    this.wanted = title
    if (this.pictures.some(picture => picture.title === title)) this.refresh()
  }

  async lay(id) {
    const picture = this.pictures.find(one => one.id === id)
    const changed = picture.title !== this.picture?.title
    this.picture = picture
    this.choice.value = id
    if (picture.drawing) return this.layDrawing(picture)
    const round = this.round = (this.round ?? 0) + 1
    const answer = await fetch(`picture?id=${id}`)
    const size = answer.ok ? await answer.json() : null
    if (!size || this.picture !== picture || this.round !== round) return // something else is being laid, or this again
    this.ready = size.ready
    this.whole = size.ready && size.finest === 0
    if (!size.ready) {
      this.say(size.failed ? 'This photo can’t be read.' : 'Laying the photo on the table …')
      return
    }
    const units = picture.straight ? [picture.width, picture.height] : [size.width, size.height]
    const shown = { id, key: picture.title, units, straight: picture.straight, pixels: [size.width, size.height], levels: size.levels, side: size.side, finest: size.finest }
    if (this.view.picture?.id !== id || changed) this.view.show(shown)
    else if (this.view.picture.finest !== size.finest) this.view.sharpen(shown)
    if (!await this.overlay.show(picture, () => this.picture === picture)) return
    this.hand.show(picture, this.noted)
    this.hand.draw()
    this.doubts.show(picture.doubts ?? [])
    this.again()
  }

  async layDrawing(picture) {
    const before = this.drawn?.what === picture.id ? this.drawn : undefined
    const drawn = await drawing(picture.id, before)
    if (this.picture !== picture) return
    this.ready = this.whole = true
    const same = drawn === before && this.overlay.holds(drawn.element)
    this.drawn = Object.assign(drawn, { what: picture.id })
    if (same) return this.again()
    this.overlay.clear(...(drawn.element ? [drawn.element] : []))
    const units = drawn.element ? [drawn.width, drawn.height] : [100, 60]
    this.view.show({ key: picture.title, units, pixels: units, levels: 0 })
    this.hand.show(picture, this.noted)
    this.doubts.show([])
    this.again()
    this.say(drawn.says ?? 'Too little is known of the circuit to draw it yet.')
  }

  moved(view) {
    const px = view.unit / view.scale
    if (this.px !== px) this.world.style.setProperty('--px', String(px)) // all that lies on it is styled anew
    this.px = px
    const { width, height } = view.box
    if (view.picture.straight) this.ruler.draw(view, width, height)
    else this.ruler.hide()
    this.hand.draw()
  }

  /* ---- light ---- */

  lit(now) {
    this.overlay.lit(now)
    if (!this.picture || !this.ready) return
    if (now.net !== undefined) this.say(now.pins.length > 0 ? `${now.net}: ${now.pins.join(', ')}` : `${now.net}: no noted pin meets it`)
    if (this.overlay.litInSight(this.mat.getBoundingClientRect()) === false) this.view.fit()
    if (now.net === undefined && now.parts.length > 0) this.sayElsewhere(now.parts)
  }

  /* Where a part lies that is not on this picture. */
  sayElsewhere(parts) {
    const here = picture => (picture.pads ?? []).some(pad => parts.includes(pad.part)) || (picture.parts ?? []).some(part => parts.includes(part.ref))
    if (this.picture.drawing || here(this.picture)) return
    const other = this.pictures.find(here)
    if (other) this.say(`${parts.join(', ')}: on ${other.title}.`)
  }

  /* ---- hands ---- */

  tapped(place, target) {
    if (!this.picture.drawing) return this.hand.tap(place, target)
    const block = target?.closest?.('.k-block[data-claim]')
    const wire = target?.closest?.('[data-ref]') ? null : target?.closest?.('[data-net]') ?? this.nextWire(place)
    const part = wire ? null : target?.closest?.('[data-ref]') ?? this.nearestPart(place)
    if (block) this.open(block.dataset.claim)
    else if (wire) this.light.net(wire.dataset.net)
    else if (part?.dataset.claim) this.open(part.dataset.claim)
    else if (part) this.light.parts([part.dataset.ref])
  }

  /* Where a place of the picture is on the screen. */
  onScreen([x, y]) {
    const mat = this.mat.getBoundingClientRect()
    return [mat.left + this.view.x + x * this.view.scale, mat.top + this.view.y + y * this.view.scale]
  }

  /* A wire is thin: one that a hand just misses is meant. */
  nextWire(place) {
    const [x, y] = this.onScreen(place)
    for (const [dx, dy] of [[0, 5], [0, -5], [5, 0], [-5, 0]]) {
      const under = document.elementFromPoint(x + dx, y + dy)
      if (under?.closest('.wire')) return under.closest('[data-net]')
    }
    return null
  }

  /* Symbols are lines: a finger means the one it is on or next to, the smallest of them. */
  nearestPart(place) {
    const [px, py] = this.onScreen(place)
    const near = [...this.world.querySelectorAll('[data-ref]')].map(part => {
      const box = part.getBoundingClientRect()
      const far = Math.hypot(Math.max(box.left - px, 0, px - box.right), Math.max(box.top - py, 0, py - box.bottom))
      return { part, far, area: box.width * box.height }
    })
    return near.filter(({ far }) => far < FINGER).sort((a, b) => a.far - b.far || a.area - b.area)[0]?.part
  }
}
