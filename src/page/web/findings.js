// What is known: a click on a sentence opens what it rests on, and lights the notes and the parts it is about.
import { remember, swap } from './live.js'

const words = text => (text ?? '').split(' ').filter(Boolean)

export class Findings {
  constructor({ light, put, toLine }) {
    Object.assign(this, { light, put, toLine })
    this.known = document.getElementById('known')
    remember(this.known)
    this.known.addEventListener('click', event => this.clicked(event))
  }

  async refresh() {
    const answer = await fetch('findings')
    if (!answer.ok) return
    const open = this.known.querySelector('button.on')?.dataset.claim
    swap(this.known, await answer.text())
    if (open && !this.known.querySelector('button.on')) this.button(open)?.click() // its card was written anew
  }

  button(claim) { return [...this.known.querySelectorAll('.claim button')].find(item => item.dataset.claim === claim) }

  clicked(event) {
    const button = event.target.closest('button')
    if (!button) return
    if (button.dataset.put) this.put(button.dataset.put)
    else if (button.dataset.toLine) this.toLine(button.dataset.toLine)
    else this.toggle(button)
  }

  async toggle(button) {
    const open = button.classList.contains('on')
    this.close()
    if (open) return
    button.classList.add('on')
    this.light(words(button.dataset.lines), words(button.dataset.parts))
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
    this.light([], [])
  }

  open(claim) {
    const button = this.button(claim)
    if (!button) return
    if (!button.classList.contains('on')) this.toggle(button)
    button.scrollIntoView({ block: 'center' })
    button.focus()
  }
}
