// What is lit, in every place at once: a net with all that touches it, or some parts and lines.
const NOTHING = { net: undefined, pins: [], parts: [], lines: [], claims: [] }

export class Light {
  /* places: each has lit({net, pins, parts, lines, claims}) */
  constructor(places) {
    this.places = places
    this.now = NOTHING
  }

  tell(now) {
    this.now = now
    for (const place of this.places) place.lit(now)
  }

  off() { this.tell(NOTHING) }

  parts(parts, lines = []) { this.tell({ ...NOTHING, parts, lines }) }

  /* Lights a net; one that is lit goes out. */
  async net(name) {
    if (this.now.net === name) return this.off()
    this.wanted = name
    const found = await this.ask(name)
    if (this.wanted === name) this.tell(found)
  }

  /* Copper without a pin or a name is a net of its own, of which no note tells. */
  async ask(name) {
    try {
      const answer = await fetch(`light?net=${encodeURIComponent(name)}`)
      if (answer.ok) return { ...NOTHING, ...await answer.json(), net: name }
    } catch { /* away: live.js says so */ }
    return { ...NOTHING, net: name }
  }

  async lines(lines) {
    try {
      const answer = await fetch(`light?lines=${encodeURIComponent(lines.join(' '))}`)
      if (answer.ok) this.parts((await answer.json()).parts, lines)
    } catch { /* away */ }
  }

  /* After a change: a net may have other pins now. */
  async again() {
    const name = this.now.net
    if (name === undefined) return this.tell(this.now)
    const found = await this.ask(name)
    if (this.now.net === name) this.tell(found)
  }
}
