// Completion under an input: what may stand at the hand, as a list that arrows choose from (ARIA's combobox).
const bytes = text => new TextEncoder().encode(text).length

export class Offers {
  /* before: what stands in front of the input's own text in the note; taken: what to do once an offer was taken */
  constructor(line, list, { before = () => '', taken = () => {} } = {}) {
    Object.assign(this, { line, list, before, taken })
    this.chosen = -1
    line.addEventListener('blur', () => setTimeout(() => list.owner === this && document.activeElement !== line && this.close(), 150)) // a list may serve several lines
    list.addEventListener('pointerdown', event => event.preventDefault()) // the hand stays on the line
    list.addEventListener('click', event => list.owner === this && this.take(event.target.closest('li')))
  }

  /* What is offered for the text up to the hand; undefined when something else was typed meanwhile. */
  async ask() {
    const typed = this.line.value
    const hand = this.before() + typed.slice(0, this.line.selectionStart)
    const said = await fetch(`complete?typed=${encodeURIComponent(hand.slice(-4000))}`).then(answer => answer.json())
    if (this.line.value !== typed) return undefined
    this.show(said)
    return said
  }

  show({ offers, length }) {
    this.length = length
    this.chosen = -1
    this.list.owner = this
    this.list.replaceChildren(...offers.map(({ text, says }, at) => {
      const item = document.createElement('li')
      item.id = `${this.list.id}-${at}`
      item.setAttribute('role', 'option')
      item.setAttribute('aria-selected', 'false')
      item.dataset.text = text
      const code = document.createElement('code')
      code.textContent = text
      item.append(code, ' ', says)
      return item
    }))
    const open = offers.length > 0 && document.activeElement === this.line && this.line.value !== ''
    this.list.hidden = !open
    this.line.setAttribute('aria-expanded', String(open))
    this.line.removeAttribute('aria-activedescendant')
  }

  close() {
    this.list.hidden = true
    this.chosen = -1
    this.line.setAttribute('aria-expanded', 'false')
    this.line.removeAttribute('aria-activedescendant')
  }

  choose(at) {
    const items = [...this.list.children]
    this.chosen = (at + items.length) % items.length
    items.forEach((item, i) => item.setAttribute('aria-selected', String(i === this.chosen)))
    items[this.chosen].scrollIntoView({ block: 'nearest' })
    this.line.setAttribute('aria-activedescendant', items[this.chosen].id)
  }

  take(item) {
    if (!item) return
    const hand = this.line.selectionStart
    const text = item.dataset.text
    let start = hand
    while (start > 0 && bytes(this.line.value.slice(start, hand)) < this.length) start--
    this.line.setRangeText(text + (/[.(]$/.test(text) ? '' : ' '), start, hand, 'end')
    this.line.focus()
    this.taken()
  }

  /* True when the key was for the list. */
  key(event) {
    if (this.list.hidden || this.list.owner !== this) return false
    if (event.key === 'ArrowDown') this.choose(this.chosen + 1)
    else if (event.key === 'ArrowUp') this.choose(this.chosen < 0 ? -1 : this.chosen - 1)
    else if (event.key === 'Tab' && !event.shiftKey) this.take(this.list.children[Math.max(0, this.chosen)])
    else if (event.key === 'Enter' && this.chosen >= 0) this.take(this.list.children[this.chosen])
    else if (event.key === 'Escape') this.close()
    else return false
    event.preventDefault()
    return true
  }
}
