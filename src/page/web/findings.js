// What is known: a click on a sentence opens what it rests on, and lights the notes and the parts it is about.
import { figure } from './drawing.js'
import { Lazy } from './lazy.js'
import { Sheet } from './sheet.js'

const words = text => (text ?? '').split(' ').filter(Boolean)

export class Findings {
  constructor({ light, put, toLine }) {
    Object.assign(this, { light, put, toLine })
    this.known = document.getElementById('known')
    this.sheet = new Sheet(this.known, 'section')
    this.known.addEventListener('click', event => this.clicked(event))
    this.lazy = new Lazy(this.known, () => this.lit(this.now))
  }

  renew(html) {
    const open = this.known.querySelector('button.on')?.dataset.claim
    const fresh = this.sheet.put(html)
    this.lazy.refresh()
    if (fresh.length === 0) return
    if (open && !this.known.querySelector('button.on')) this.button(open)?.click() // its card was written anew
    this.hang()
    this.lit(this.now)
  }

  /* The circuit in blocks, above how it works in words. */
  async draw() {
    this.figure = await figure('blocks', this.figure).catch(() => this.figure)
    if (this.hang()) this.lit(this.now)
  }

  /* Hangs the drawing where the cards have room for it; false when it hangs there already. */
  hang() {
    const room = document.getElementById('blocks-drawn')
    if (!room || room.firstChild === (this.figure?.svg ?? null)) return false
    room.replaceChildren(...(this.figure?.svg ? [this.figure.svg] : []))
    return true
  }

  button(claim) { return [...this.known.querySelectorAll('.claim button')].find(item => item.dataset.claim === claim) }

  clicked(event) {
    const button = event.target.closest('button')
    if (!button) return this.clickedDrawing(event.target)
    const { put, toLine, light } = button.dataset
    if (put) this.put(put)
    else if (toLine) this.toLine(toLine)
    else if (light) this.light.net(light)
    else this.toggle(button)
  }

  clickedDrawing(target) {
    const block = target.closest('.k-block[data-claim]')
    const arrow = target.closest('[data-net]')
    if (block) this.open(block.dataset.claim)
    else if (arrow) this.light.net(arrow.dataset.net)
  }

  async toggle(button) {
    const open = button.classList.contains('on')
    this.close()
    if (open) return this.light.off()
    button.classList.add('on')
    this.light.parts(words(button.dataset.parts), words(button.dataset.lines))
    if (!button.dataset.claim) return
    button.setAttribute('aria-expanded', 'true')
    const answer = await fetch(`why?claim=${encodeURIComponent(button.dataset.claim)}`)
    if (!answer.ok || !button.classList.contains('on')) return
    const under = document.createElement('div')
    under.className = 'why'
    under.innerHTML = await answer.text() // escaped where it was written
    button.after(under)
  }

  /* Only one is open: its light must be readable. */
  close() {
    for (const button of this.known.querySelectorAll('button.on')) {
      button.classList.remove('on')
      if (button.hasAttribute('aria-expanded')) button.setAttribute('aria-expanded', 'false')
    }
    for (const under of this.known.querySelectorAll('.why')) under.remove()
  }

  async open(claim) {
    for (const details of this.known.querySelectorAll('details[data-from^="more"]:not([open])')) { // it may stand behind the first ones
      if (this.button(claim)) break
      await this.lazy.fill(details)
      if (this.button(claim)) details.open = true
    }
    const button = this.button(claim)
    if (!button) return
    if (!button.classList.contains('on')) this.toggle(button)
    button.scrollIntoView({ block: 'center' })
    button.focus()
  }

  /* What touches the net that is lit. */
  lit(now) {
    this.now = now
    const claims = new Set(now?.claims)
    const parts = new Set(now?.net === undefined ? [] : now.parts)
    for (const button of this.known.querySelectorAll('.claim button[data-claim]')) button.classList.toggle('touched', claims.has(button.dataset.claim))
    for (const row of this.known.querySelectorAll('tr[data-ref]')) row.classList.toggle('touched', parts.has(row.dataset.ref))
    for (const row of this.known.querySelectorAll('tr[data-net]')) row.classList.toggle('touched', row.dataset.net === now?.net)
    for (const arrow of this.known.querySelectorAll('.k-arrow')) arrow.classList.toggle('lit', arrow.dataset.net === now?.net)
  }
}
