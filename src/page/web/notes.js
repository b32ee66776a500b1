// The notebook: the lines as written, and the line that is being written.
import { Lazy } from './lazy.js'
import { Offers } from './offers.js'
import { Sheet } from './sheet.js'

const bytes = text => new TextEncoder().encode(text).length
const KEPT = 'unpick-typed' // what is typed outlives the page, until it is written down

export class Notebook {
  constructor(put) {
    this.list = document.getElementById('notes')
    this.line = document.getElementById('line')
    this.check = document.getElementById('check')
    this.help = document.getElementById('help')
    this.undoButton = document.getElementById('undo')
    this.own = [] // lines this page wrote, for undo
    this.offers = new Offers(this.line, document.getElementById('offers'), { taken: () => this.typed() })
    this.onClaim = this.onLine = () => {}
    this.lazy = new Lazy(this.list)
    this.sheet = new Sheet(this.list.querySelector('ol'), 'li')
    this.list.addEventListener('click', event => this.clicked(event, put))
    document.getElementById('write').addEventListener('submit', event => { event.preventDefault(); this.submit() })
    this.line.addEventListener('input', () => this.typed())
    this.line.addEventListener('keydown', event => this.key(event))
    this.undoButton.addEventListener('click', () => this.undo())
    this.line.value = sessionStorage.getItem(KEPT) ?? ''
  }

  /* The lines as they are now; of a long notebook the last ones, unless all were asked for. */
  renew(html) {
    if (this.all) return this.showAll()
    for (const item of this.sheet.put(html)) this.mark(item)
    this.lazy.refresh()
  }

  async showAll() {
    this.all = true
    const round = this.round = (this.round ?? 0) + 1
    const answer = await fetch('notes?all=1')
    if (!answer.ok || round !== this.round) return // asked again meanwhile
    for (const item of this.sheet.put(await answer.text())) this.mark(item)
    this.lazy.refresh()
  }

  mark(item) { item.classList.toggle('lit', Boolean(this.wanted?.has(item.dataset.line))) }

  clicked(event, put) {
    const button = event.target.closest('button')
    if (!button) return
    if ('earlier' in button.dataset) this.showAll()
    if (button.dataset.claim) this.onClaim(button.dataset.claim)
    if (button.dataset.light) this.onLine(button.dataset.light)
    if ('again' in button.dataset) put(button.closest('li').querySelector('summary code').textContent.trim())
    if (button.dataset.strike) this.add(`strike ${button.dataset.strike}`)
  }

  /* ---- lines in the light ---- */

  lit({ net, lines }) {
    const wanted = new Set(lines.map(String))
    const before = [...(this.wanted ?? [])].join()
    this.wanted = wanted
    this.list.classList.toggle('by-net', net !== undefined)
    for (const item of this.list.querySelectorAll('li[data-line]')) this.mark(item)
    if ([...wanted].join() !== before) this.list.querySelector('li.lit')?.scrollIntoView({ block: 'nearest' })
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
    this.asked = typed
    try {
      const [offers, verdict] = await Promise.all([
        this.offers.ask(),
        typed.trim() ? fetch('check', { method: 'POST', body: typed }).then(answer => answer.json()) : { ok: true, empty: true },
      ])
      if (this.asked !== typed || !offers) return
      this.showHelp(offers)
      if (!verdict.ok && offers.offers.length > 0 && this.atWord()) verdict.ok = verdict.empty = true // a word that is being typed is no mistake
      this.showVerdict(verdict, typed)
    } catch { /* away: live.js says so */ }
  }

  /* The hand is at the end of the line, within a word. */
  atWord() { return this.line.selectionStart === this.line.value.length && /[^\s"]$/.test(this.line.value) }

  showVerdict(verdict, typed) {
    const unfinished = !verdict.ok && verdict.column > bytes(typed.trim()) // it ends too early
    this.check.className = unfinished ? 'unfinished' : !verdict.ok ? 'wrong' : verdict.empty ? '' : 'fine'
    this.line.setAttribute('aria-invalid', String(!verdict.ok && !unfinished))
    this.check.replaceChildren()
    if (verdict.ok) {
      this.check.textContent = verdict.empty ? '' : 'This can be written down.'
      return
    }
    if (verdict.column > 0 && !unfinished) this.check.append(this.pointer(typed.trim(), verdict.column))
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

  showHelp({ form, says, example }) {
    this.help.textContent = form ? `${form} — ${says}. Like: ${example}` : ''
  }

  key(event) {
    if (this.offers.key(event)) return
    if (event.key !== 'z' || !event.ctrlKey || this.line.value !== '') return
    event.preventDefault()
    this.undo()
  }

  async submit() {
    this.offers.close()
    if (this.line.value.trim() === '') return
    if ((await this.add(this.line.value)).ok) {
      this.line.value = ''
      sessionStorage.removeItem(KEPT)
      this.help.textContent = ''
    }
    this.line.focus()
  }

  /* {ok, line} once it is on the disk; else {ok: false, message ...}. */
  async add(text) {
    clearTimeout(this.timer) // what was asked while typing is answered by what follows, and must not speak over it
    this.asked = undefined
    try {
      const answer = await fetch('add', { method: 'POST', body: text })
      const said = await answer.json()
      this.showVerdict(said, text)
      if (!said.ok) return said
      this.check.className = 'fine'
      this.check.textContent = `Written down in line ${said.line}.`
      this.own.push(said.line)
      this.undoButton.disabled = false
      return said
    } catch {
      const message = 'Not written down: the bench page does not answer. Your words stay here.'
      this.check.className = 'wrong'
      this.check.textContent = message
      return { ok: false, message }
    }
  }

  /* Strikes the last line that this page wrote; what became of it, in words. */
  async undo() {
    const line = this.own.pop()
    if (line === undefined) return 'There is nothing to undo.'
    const before = this.own.length
    const { ok } = await this.add(`strike ${line} "undone"`)
    if (ok) this.own.length = before
    this.undoButton.disabled = this.own.length === 0
    return ok ? `Line ${line} is struck.` : this.check.textContent
  }
}
