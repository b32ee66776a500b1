// The notebook: the lines as written, and the line that is being written.
import { remember, swap } from './live.js'

const bytes = text => new TextEncoder().encode(text).length
const KEPT = 'unpick-typed' // what is typed outlives the page, until it is written down

export class Notebook {
  constructor(put) {
    this.list = document.getElementById('notes')
    this.line = document.getElementById('line')
    this.offers = document.getElementById('offers')
    this.check = document.getElementById('check')
    this.help = document.getElementById('help')
    this.undoButton = document.getElementById('undo')
    this.own = [] // lines this page wrote, for undo
    this.chosen = -1
    this.onClaim = () => {}
    remember(this.list)
    this.list.addEventListener('click', event => this.clicked(event, put))
    document.getElementById('write').addEventListener('submit', event => { event.preventDefault(); this.submit() })
    this.line.addEventListener('input', () => this.typed())
    this.line.addEventListener('keydown', event => this.key(event))
    this.line.addEventListener('blur', () => setTimeout(() => this.closeOffers(), 150))
    this.offers.addEventListener('pointerdown', event => event.preventDefault()) // the hand stays on the line
    this.offers.addEventListener('click', event => this.take(event.target.closest('li')))
    this.undoButton.addEventListener('click', () => this.undo())
    this.line.value = sessionStorage.getItem(KEPT) ?? ''
    this.toEnd()
  }

  toEnd() { this.list.scrollTop = this.list.scrollHeight }

  async refresh(all = this.all) {
    const answer = await fetch(all ? 'notes?all=1' : 'notes')
    if (!answer.ok) return
    const atEnd = this.list.scrollHeight - this.list.scrollTop - this.list.clientHeight < 60
    swap(this.list, await answer.text())
    this.light(this.lit ?? [])
    if (atEnd) this.toEnd()
  }

  clicked(event, put) {
    const button = event.target.closest('button')
    if (!button) return
    if (button.id === 'earlier') { this.all = true; this.refresh() }
    if (button.dataset.claim) this.onClaim(button.dataset.claim)
    if ('again' in button.dataset) put(button.closest('li').querySelector('summary code').textContent.trim())
    if (button.dataset.strike) this.add(`strike ${button.dataset.strike}`)
  }

  /* ---- lines in the light ---- */

  light(lines) {
    this.lit = lines
    const wanted = new Set(lines)
    for (const item of this.list.querySelectorAll('li[data-line]')) item.classList.toggle('lit', wanted.has(item.dataset.line))
    this.list.querySelector('li.lit')?.scrollIntoView({ block: 'nearest' })
  }

  show(line) {
    const item = document.getElementById(`line-${line}`)
    if (!item) return
    item.querySelector('details').open = true
    item.scrollIntoView({ block: 'center' })
    item.querySelector('summary').focus()
  }

  /* ---- writing ---- */

  put(text) {
    this.line.value = text
    this.line.focus()
    const hole = text.indexOf('?') // where something is still to be said
    this.line.setSelectionRange(hole < 0 ? text.length : hole, hole < 0 ? text.length : hole + 1)
    this.typed()
  }

  typed() {
    sessionStorage.setItem(KEPT, this.line.value)
    clearTimeout(this.timer)
    this.timer = setTimeout(() => this.ask(), 60)
  }

  async ask() {
    const typed = this.line.value
    const hand = typed.slice(0, this.line.selectionStart)
    this.asked = typed
    try {
      const [offers, verdict] = await Promise.all([
        fetch(`complete?typed=${encodeURIComponent(hand.slice(-4000))}`).then(answer => answer.json()),
        typed.trim() ? fetch('check', { method: 'POST', body: typed }).then(answer => answer.json()) : { ok: true, empty: true },
      ])
      if (this.asked !== typed) return
      this.showOffers(offers)
      this.showVerdict(verdict, typed)
    } catch { /* away: live.js says so */ }
  }

  showVerdict(verdict, typed) {
    this.check.className = verdict.ok ? (verdict.empty ? '' : 'fine') : 'wrong'
    this.line.setAttribute('aria-invalid', String(!verdict.ok))
    this.check.replaceChildren()
    if (verdict.ok) {
      this.check.textContent = verdict.empty ? '' : 'This can be written down.'
      return
    }
    if (verdict.column > 0) this.check.append(this.pointer(typed.trim(), verdict.column))
    const more = [verdict.message, verdict.expected && `expected ${verdict.expected}`, verdict.hint].filter(Boolean)
    this.check.append(more.join('; '))
  }

  /* The note with the place of the fault under a mark; columns count bytes. */
  pointer(typed, column) {
    let at = 0
    while (at < typed.length && bytes(typed.slice(0, at)) < column - 1) at++
    const end = at + (/^[^\s(),=:]+/.exec(typed.slice(at))?.[0].length ?? 1)
    const mark = document.createElement('mark')
    mark.textContent = typed.slice(at, end) || '…'
    const code = document.createElement('code')
    code.append(typed.slice(Math.max(0, at - 24), at), mark, typed.slice(end, end + 24))
    return code
  }

  showOffers({ offers, length, form, says, example }) {
    this.help.textContent = form ? `${form} — ${says}` : ''
    this.help.title = example ?? ''
    this.length = length
    this.chosen = -1
    this.offers.replaceChildren(...offers.map(({ text, says }, at) => {
      const item = document.createElement('li')
      item.id = `offer-${at}`
      item.setAttribute('role', 'option')
      item.setAttribute('aria-selected', 'false')
      item.dataset.text = text
      const code = document.createElement('code')
      code.textContent = text
      item.append(code, ' ', says)
      return item
    }))
    const open = offers.length > 0 && document.activeElement === this.line && this.line.value !== ''
    this.offers.hidden = !open
    this.line.setAttribute('aria-expanded', String(open))
    this.line.removeAttribute('aria-activedescendant')
  }

  closeOffers() {
    this.offers.hidden = true
    this.chosen = -1
    this.line.setAttribute('aria-expanded', 'false')
    this.line.removeAttribute('aria-activedescendant')
  }

  choose(at) {
    const items = [...this.offers.children]
    this.chosen = (at + items.length) % items.length
    items.forEach((item, i) => item.setAttribute('aria-selected', String(i === this.chosen)))
    items[this.chosen].scrollIntoView({ block: 'nearest' })
    this.line.setAttribute('aria-activedescendant', items[this.chosen].id)
  }

  take(item) {
    if (!item) return
    const hand = this.line.selectionStart
    const text = item.dataset.text
    const start = hand - new TextDecoder().decode(new TextEncoder().encode(this.line.value.slice(0, hand)).slice(-this.length || Infinity)).length
    const space = /[.(]$/.test(text) ? '' : ' '
    this.line.setRangeText(text + space, this.length ? start : hand, hand, 'end')
    this.line.focus()
    this.typed()
  }

  key(event) {
    const open = !this.offers.hidden
    if (event.key === 'ArrowDown' && open) this.choose(this.chosen + 1)
    else if (event.key === 'ArrowUp' && open) this.choose(this.chosen < 0 ? -1 : this.chosen - 1)
    else if (event.key === 'Tab' && open && !event.shiftKey) this.take(this.offers.children[Math.max(0, this.chosen)])
    else if (event.key === 'Enter' && open && this.chosen >= 0) this.take(this.offers.children[this.chosen])
    else if (event.key === 'Escape' && open) this.closeOffers()
    else if (event.key === 'z' && event.ctrlKey && this.line.value === '') this.undo()
    else return
    event.preventDefault()
  }

  async submit() {
    this.closeOffers()
    if (this.line.value.trim() === '') return
    if (await this.add(this.line.value)) {
      this.line.value = ''
      sessionStorage.removeItem(KEPT)
      this.help.textContent = ''
    }
    this.line.focus()
  }

  /* True once it is on the disk. */
  async add(text) {
    clearTimeout(this.timer) // what was asked while typing is answered by what follows, and must not speak over it
    this.asked = undefined
    try {
      const answer = await fetch('add', { method: 'POST', body: text })
      const said = await answer.json()
      this.showVerdict(said, text)
      if (!said.ok) return false
      this.check.className = 'fine'
      this.check.textContent = `Written down in line ${said.line}.`
      this.own.push(said.line)
      this.undoButton.disabled = false
      return true
    } catch {
      this.check.className = 'wrong'
      this.check.textContent = 'Not written down: the bench page does not answer. Your words stay here.'
      return false
    }
  }

  async undo() {
    const line = this.own.pop()
    if (line === undefined) return
    const before = this.own.length
    if (await this.add(`strike ${line} "undone"`)) this.own.length = before
    this.undoButton.disabled = this.own.length === 0
  }
}
