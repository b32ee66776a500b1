// One picture seen through a window: where it is, how near, and which tiles that takes. A picture has its own units
// (millimetres when straightened, else pixels); the window has CSS pixels.
const NEAREST = 8 // CSS pixels for one of the photo
const STEP = 1.5

export class View {
  constructor(mat, { onMove, onTap, onPoint }) {
    this.mat = mat
    this.tiles = mat.querySelector('#tiles')
    this.world = mat.querySelector('#world')
    Object.assign(this, { onMove, onTap, onPoint })
    this.fingers = new Map()
    mat.addEventListener('pointerdown', event => this.down(event))
    mat.addEventListener('pointermove', event => this.move(event))
    for (const end of ['pointerup', 'pointercancel']) mat.addEventListener(end, event => this.up(event))
    mat.addEventListener('wheel', event => { event.preventDefault(); this.zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, this.spot(event)) }, { passive: false })
    mat.addEventListener('keydown', event => this.key(event))
    mat.addEventListener('pointerleave', () => this.onPoint(null))
    this.measure()
    new ResizeObserver(() => {
      this.measure()
      if (this.picture) this.placed ? this.draw() : this.fit()
    }).observe(mat)
  }

  /* The window, and a unit for what is drawn in it: a CSS pixel, or more where the letters are larger. */
  measure() {
    this.box = this.mat.getBoundingClientRect()
    this.unit = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16
  }

  /* picture: {id, units: [width, height] in its own, pixels: [width, height], levels, side} */
  show(picture) {
    const same = this.picture && this.picture.key === picture.key
    this.picture = picture
    this.tiles.replaceChildren()
    this.shown = new Map()
    if (same && this.placed) this.draw()
    else this.fit()
  }

  /* Finer levels of the same picture have come. */
  sharpen(picture) {
    this.picture = picture
    this.draw()
  }

  fit() {
    const { width, height } = this.box
    const [w, h] = this.picture.units
    this.scale = 0.94 * Math.min(width / w, height / h) || 1
    this.x = (width - w * this.scale) / 2
    this.y = (height - h * this.scale) / 2
    this.fitted = this.scale
    this.placed = false // until then all of it stays in sight, whatever the window's size
    this.draw()
  }

  spot(event) {
    const box = this.mat.getBoundingClientRect()
    return [event.clientX - box.left, event.clientY - box.top]
  }

  middle() {
    const { width, height } = this.box
    return [width / 2, height / 2]
  }

  toPicture([x, y]) { return [(x - this.x) / this.scale, (y - this.y) / this.scale] }

  zoom(by, [x, y] = this.middle()) {
    if (!this.picture) return
    const most = this.picture.levels === 0 ? 100 : NEAREST * this.picture.pixels[0] / this.picture.units[0] // a millimetre as wide as a thumb
    const scale = Math.min(Math.max(this.scale * by, this.fitted / 2), most)
    this.x = x - (x - this.x) * scale / this.scale
    this.y = y - (y - this.y) * scale / this.scale
    this.scale = scale
    this.placed = true
    this.draw()
  }

  pan(dx, dy) {
    this.placed = true
    this.x += dx
    this.y += dy
    this.draw()
  }

  centreOn([x, y], scale = Math.max(this.scale, this.fitted * 4)) {
    const [mx, my] = this.middle()
    this.scale = scale
    this.placed = true
    this.x = mx - x * scale
    this.y = my - y * scale
    this.draw()
  }

  /* ---- hands ---- */

  down(event) {
    if (!this.picture || event.button > 0) return
    this.mat.setPointerCapture(event.pointerId)
    this.fingers.set(event.pointerId, this.spot(event))
    this.moved = this.fingers.size > 1 ? Infinity : 0
    this.target = event.target
    if (this.fingers.size === 1) this.onPoint(this.toPicture(this.spot(event)))
  }

  move(event) {
    const before = this.fingers.get(event.pointerId)
    if (!before) {
      if (this.picture && event.pointerType === 'mouse') this.onPoint(this.toPicture(this.spot(event)))
      return
    }
    const now = this.spot(event)
    const [dx, dy] = [now[0] - before[0], now[1] - before[1]]
    this.moved += Math.hypot(dx, dy)
    if (this.fingers.size === 2) this.pinch(event.pointerId, before, now)
    else if (this.moved > 6) this.pan(dx, dy)
    if (this.fingers.size === 2 || this.moved > 6) this.fingers.set(event.pointerId, now)
  }

  pinch(id, before, now) {
    const other = [...this.fingers].find(([finger]) => finger !== id)[1]
    const far = spot => Math.hypot(spot[0] - other[0], spot[1] - other[1]) || 1
    this.zoom(far(now) / far(before), other)
  }

  up(event) {
    if (!this.fingers.delete(event.pointerId) || event.type === 'pointercancel' || this.moved > 6) return
    this.onTap(this.toPicture(this.spot(event)), this.target)
  }

  key(event) {
    const far = 60
    const deeds = {
      ArrowLeft: () => this.pan(far, 0), ArrowRight: () => this.pan(-far, 0), ArrowUp: () => this.pan(0, far), ArrowDown: () => this.pan(0, -far),
      '+': () => this.zoom(STEP), '=': () => this.zoom(STEP), '-': () => this.zoom(1 / STEP), 0: () => this.fit(),
      Enter: () => this.tapMiddle(),
    }
    if (!this.picture || !deeds[event.key] || event.ctrlKey || event.altKey || event.metaKey) return
    event.preventDefault()
    deeds[event.key]()
    if (event.key !== 'Enter') this.onPoint(this.toPicture(this.middle())) // the cross points
  }

  tapMiddle() {
    const box = this.mat.getBoundingClientRect()
    const [x, y] = this.middle()
    const under = document.elementsFromPoint(box.left + x, box.top + y).find(element => element.dataset?.net || element.closest('[data-ref]'))
    this.onTap(this.toPicture([x, y]), under ?? this.mat)
  }

  /* ---- drawing ---- */

  draw() {
    const { pixels, units, levels, side, finest } = this.picture
    this.world.setAttribute('transform', `translate(${this.x} ${this.y}) scale(${this.scale})`)
    this.onMove?.(this)
    if (levels === 0) return // a drawing has no tiles
    const one = this.scale * units[0] / pixels[0] // CSS pixels for one of the photo
    const want = Math.floor(Math.log2(1 / (one * (globalThis.devicePixelRatio || 1))) + 0.25)
    const level = Math.min(Math.max(want, finest), levels - 1)
    this.tiles.style.transform = `translate(${this.x}px, ${this.y}px) scale(${one})`
    const { width, height } = this.box
    const step = side * 2 ** level // photo pixels a tile covers
    const first = [-this.x / one / step, -this.y / one / step].map(v => Math.max(0, Math.floor(v)))
    const last = [(width - this.x) / one, (height - this.y) / one].map((v, i) => Math.min(Math.floor(v / step), Math.ceil(pixels[i] / step) - 1))
    const keep = new Set([this.tile(levels - 1, 0, 0)]) // the whole, however coarse, lies under all others
    for (let y = first[1]; y <= last[1]; y++) for (let x = first[0]; x <= last[0]; x++) keep.add(this.tile(level, x, y))
    this.drop(keep)
  }

  tile(level, x, y) {
    const key = `${level}-${x}-${y}`
    if (this.shown.has(key)) return key
    const { id, side, pixels, levels } = this.picture
    const step = side * 2 ** level
    const image = document.createElement('img')
    image.alt = ''
    image.draggable = false
    image.src = `tile?id=${id}&level=${level}&x=${x}&y=${y}`
    image.style.left = `${x * step}px`
    image.style.top = `${y * step}px`
    image.style.width = `${Math.min(step, pixels[0] - x * step)}px`
    image.style.height = `${Math.min(step, pixels[1] - y * step)}px`
    image.style.zIndex = String(levels - level)
    this.tiles.append(image)
    this.shown.set(key, image)
    return key
  }

  /* Tiles of other levels stay until those that replace them are there. */
  drop(keep) {
    const waiting = [...keep].some(key => !this.shown.get(key).complete)
    if (waiting && this.shown.size < 200) return
    for (const [key, image] of this.shown) {
      if (keep.has(key)) continue
      image.remove()
      this.shown.delete(key)
    }
  }
}
