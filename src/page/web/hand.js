// The hand at the table: what a click does. A deed takes some places, snapped to copper where that is meant, shows what would be set
// before it is, and ends in a note.
import { CornersForm } from './corners.js'
import { PlaceForm } from './place.js'

export const FINGER = 22 // CSS pixels: half of what a gloved finger needs
const REACH_MOST = 1.5 // millimetres that a hand may be off the copper it means
const DOT = 5 // CSS pixels

const said = ([x, y], digits) => `${x.toFixed(digits)},${y.toFixed(digits)}`

/* places: how many, 0: as many as one likes, from three on; snaps: to copper; put: the note still wants words */
const DEEDS = [
  { name: 'look', says: 'Light a net', on: 'board', places: 1, asks: 'Click copper: its net lights up everywhere.' },
  { name: 'place', says: 'Place a part', on: 'board', places: 2, snaps: true },
  { name: 'join', says: 'Join', on: 'board', places: 2, snaps: true, asks: 'Click the two places that are joined.', note: (h, p) => `join ${p[0]} ${p[1]} on ${h.where()} by ${h.by()}` },
  { name: 'apart', says: 'Apart', on: 'board', places: 2, snaps: true, asks: 'Click the two places that are not joined.', note: (h, p) => `apart ${p[0]} ${p[1]} on ${h.where()} by ${h.by()}` },
  { name: 'cut', says: 'Cut', on: 'board', places: 1, snaps: true, asks: 'Click where the track is cut.', note: (h, p) => `cut ${h.where()} at ${p[0]}` },
  { name: 'bridge', says: 'Bridge', on: 'board', places: 2, snaps: true, asks: 'Click the two ends of the wire or the solder.', note: (h, p) => `bridge ${h.where()} ${p[0]} ${p[1]}` },
  { name: 'hidden', says: 'Hidden', on: 'board', places: 0, asks: 'Click round what can’t be seen, corner by corner; the first corner again, or Done, closes it.', note: (h, p) => `hidden ${h.where()} ${p.join(' ')}` },
  { name: 'measure', says: 'Measure', on: 'board', places: 2, asks: 'Click two places: how far they are apart is said here.' },
  { name: 'mark', says: 'Callout', on: 'board', places: 1, put: true, asks: 'Click what is to be pointed out, then say it in the notebook.', note: (h, p) => `mark ${h.where()} at ${p[0]} "?"` },
  { name: 'spot', says: 'Callout', on: 'photo', places: 1, put: true, asks: 'Click what is to be pointed out, then say it in the notebook.', note: (h, p) => `mark ${h.file()} at ${p[0]} "?"` },
  { name: 'corners', says: 'Corners of a board', on: 'photo', places: 4 },
]
const CORNERS = ['top left', 'top right', 'bottom right', 'bottom left']

export class Hand {
  /* table: {view, overlay, say}; put: into the notebook's line; add: a note at once; undo; light: a net by name */
  constructor({ view, overlay, say, put, add, undo, light, lay }) {
    Object.assign(this, { view, overlay, say, put, add, undo, light, lay })
    this.deeds = document.getElementById('deeds')
    this.tray = document.getElementById('tray')
    this.snapButton = document.getElementById('snap')
    this.doneButton = document.getElementById('done')
    this.source = document.getElementById('told-by')
    this.placeForm = new PlaceForm(() => this.changed())
    this.cornersForm = new CornersForm()
    this.places = []
    this.turn = Promise.resolve() // clicks are taken one after the other
    this.deeds.addEventListener('click', event => event.target.dataset.deed && this.choose(event.target.dataset.deed))
    this.snapButton.addEventListener('click', () => this.toggleSnap())
    this.doneButton.addEventListener('click', () => this.done())
    document.getElementById('back').addEventListener('click', () => this.back())
    document.getElementById('table').addEventListener('keydown', event => this.key(event))
  }

  where() { return `${this.picture.name} ${this.picture.face}` }
  file() { return /[\s"(),=:#]/.test(this.picture.file) ? `"${this.picture.file}"` : this.picture.file }
  by() { return this.source.value }
  get snaps() { return this.snapButton.getAttribute('aria-pressed') === 'true' }

  toggleSnap() {
    this.snapButton.setAttribute('aria-pressed', String(!this.snaps))
    this.next = undefined
    this.draw()
  }

  /* ---- which deed ---- */

  /* boards: {name, size} of the notes */
  show(picture, boards) {
    const on = picture.drawing ? 'drawing' : picture.straight ? 'board' : 'photo'
    const other = on !== this.on || picture.title !== this.picture?.title
    this.picture = picture
    this.cornersForm.know(boards)
    this.placeForm.know(picture)
    if (!other) return
    this.on = on
    this.deeds.replaceChildren(...DEEDS.filter(deed => deed.on === on).map(({ name, says }) => {
      const button = document.createElement('button')
      button.type = 'button'
      button.dataset.deed = name
      button.textContent = says
      return button
    }))
    this.choose(on === 'board' ? 'look' : undefined)
  }

  choose(name) {
    this.deed = DEEDS.find(deed => deed.name === name)
    this.written = undefined
    this.drop()
    for (const button of this.deeds.children) button.setAttribute('aria-pressed', String(button.dataset.deed === name))
    this.tray.dataset.deed = name ?? ''
    this.placeForm.open(name === 'place')
    this.cornersForm.open(name === 'corners')
    this.snapButton.hidden = !this.deed?.snaps
    this.sayStep()
  }

  drop() {
    this.places = []
    this.next = undefined
    this.wrong = false
    this.doneButton.hidden = true
    this.draw()
  }

  sayStep() {
    const count = this.places.length
    if (this.deed?.name === 'place') this.say(`${count === 0 ? this.written ?? '' : ''}${this.placeForm.asks(count)}`)
    else if (this.deed?.name === 'corners') this.say(`Click the board’s corners as you see them, ${CORNERS[count % 4]} ${count === 0 ? 'first' : 'next'}.`)
    else this.say(this.deed?.asks ?? '')
  }

  /* ---- places ---- */

  tap(place, target) {
    this.turn = this.turn.then(() => this.take(place, target)).catch(() => this.say('The bench page does not answer.'))
  }

  async take(place, target) {
    const deed = this.deed
    if (!deed) return
    if (deed.name === 'look') return this.look(place, target)
    if (this.closes(place)) return this.done()
    const spot = deed.snaps && this.snaps ? await this.snap(place) : { at: place }
    if (this.deed !== deed) return
    if (this.places.length === (deed.places || Infinity)) this.places = deed.name === 'place' ? this.places.slice(0, 1) : []
    this.places.push(spot.at)
    this.next = undefined
    this.wrong = false
    this.doneButton.hidden = deed.places > 0 || this.places.length < 3
    this.sayStep()
    if (this.places.length === deed.places) await this.finish()
    this.draw()
  }

  async look(place, target) {
    const pad = target?.dataset?.net
    if (pad) return this.light(pad)
    const { net } = await this.snap(place) // a finger next to it means it too
    if (net) this.light(net)
  }

  /* The first corner again. */
  closes([x, y]) {
    if (this.deed.places > 0 || this.places.length < 3) return false
    return Math.hypot(x - this.places[0][0], y - this.places[0][1]) * this.view.scale < FINGER
  }

  async snap([x, y]) {
    const reach = Math.min(FINGER / this.view.scale, REACH_MOST)
    const answer = await fetch(`snap?id=${this.picture.id}&x=${x.toFixed(3)}&y=${y.toFixed(3)}&reach=${reach.toFixed(3)}`)
    const found = answer.ok ? await answer.json() : {}
    return found.at ? found : { at: [x, y] }
  }

  /* The hand is over a place: shows what a click would set. One question at a time, for the newest place. */
  async point(place) {
    const deed = this.deed
    if (!deed || deed.name === 'look' || !place) return
    this.pointed = place
    if (!deed.snaps || !this.snaps) {
      this.next = { at: place }
      return this.draw()
    }
    if (this.asking) return
    this.asking = true
    try {
      const found = await this.snap(place)
      if (this.deed === deed) this.next = found
    } catch { /* away */ }
    this.asking = false
    this.draw()
    if (this.pointed !== place) this.point(this.pointed)
  }

  leave() {
    this.next = this.pointed = undefined
    this.draw()
  }

  changed() {
    this.sayStep()
    this.draw()
  }

  draw() {
    if (!this.picture || this.picture.drawing) return
    const full = this.places.length === (this.deed?.places || Infinity)
    const next = full ? undefined : this.next?.at
    const ends = [...this.places, ...(next ? [next] : [])]
    const outline = this.deed?.name === 'place' ? this.placeForm.outlineAt(ends) : undefined
    this.overlay.drawHand({ places: this.places, next, snapped: Boolean(this.next?.on), closed: this.deed?.places === 0 || this.deed?.name === 'corners', outline, wrong: this.wrong, dot: DOT / this.view.scale })
  }

  /* ---- ends ---- */

  async finish(sure = false) {
    const { name } = this.deed
    if (name === 'measure') return this.sayDistance()
    if (name === 'corners') return this.setCorners()
    if (name === 'place') return this.setPart(sure)
    const note = this.deed.note(this, this.places.map(place => this.inNote(place)))
    if (!this.deed.put) return this.write(note)
    this.drop()
    this.put(note)
  }

  inNote(place) { return this.picture.straight ? said(toTop(this.picture, place), 2) : said(place, 0) }

  sayDistance() {
    const [[ax, ay], [bx, by]] = this.places
    this.say(`${Math.hypot(bx - ax, by - ay).toFixed(2)} mm`)
  }

  async write(...notes) {
    for (const note of notes) {
      const answer = await this.add(note)
      if (!answer.ok) return this.say([answer.message, answer.expected && `expected ${answer.expected}`, answer.hint].filter(Boolean).join('; ')), false
      this.drop()
      this.say(`Line ${answer.line}: ${note}`)
      this.written = `In line ${answer.line}. `
    }
    return true
  }

  async setPart(sure) {
    const wrong = sure ? undefined : this.placeForm.wrong(this.places)
    this.wrong = Boolean(wrong)
    this.doneButton.hidden = !wrong || !this.placeForm.ready
    if (wrong) return this.say(wrong)
    if (await this.write(this.placeForm.note(this.places.map(place => this.inNote(place))))) this.placeForm.next()
  }

  async setCorners() {
    const notes = this.cornersForm.notes(this.file(), this.places.map(place => this.inNote(place)))
    const wanted = this.cornersForm.title
    if (await this.write(...notes)) this.lay(wanted)
  }

  done() {
    if (this.doneButton.hidden) return
    return this.finish(true)
  }

  /* The last place, or else the last note. */
  async back() {
    if (this.places.length === 0) return this.say(await this.undo())
    this.places.pop()
    this.wrong = false
    this.doneButton.hidden = this.deed.places > 0 || this.places.length < 3
    this.sayStep()
    this.draw()
  }

  key(event) {
    const deeds = { s: () => this.deed?.snaps && this.toggleSnap(), d: () => this.done(), Backspace: () => this.back() }
    const deed = deeds[event.key.length === 1 ? event.key.toLowerCase() : event.key]
    if (!deed || event.ctrlKey || event.altKey || event.metaKey || event.target.matches('select, input')) return
    event.preventDefault()
    deed()
  }
}

/* From the picture's millimetres to the board's own, seen from the top: mirrored when it is the bottom's, then a homography. */
export function toTop({ to_top: m, face, width }, [x, y]) {
  const seen = face === 'bottom' ? width - x : x
  const w = m[6] * seen + m[7] * y + m[8]
  return [(m[0] * seen + m[1] * y + m[2]) / w, (m[3] * seen + m[4] * y + m[5]) / w]
}
