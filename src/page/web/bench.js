// The bench: its places wired to each other. Each module has one subject and knows the others only by what is passed to it.
import { Findings } from './findings.js'
import { listen } from './live.js'
import { Notebook } from './notes.js'
import { Photos } from './photos.js'
import { Table } from './table.js'

const body = document.body
const state = document.getElementById('state')

/* On a narrow screen one place is in sight at a time. */
function go(place) {
  body.dataset.place = place
  for (const button of document.querySelectorAll('nav button'))
    button.setAttribute('aria-pressed', String(button.dataset.go === place))
}
for (const button of document.querySelectorAll('nav button')) button.addEventListener('click', () => go(button.dataset.go))

const notebook = new Notebook(text => {
  go('notebook')
  notebook.put(text)
})
const table = new Table({
  put: text => { go('notebook'); notebook.put(text) },
  add: text => notebook.add(text),
  boards: names => photos.boards(names),
  open: claim => { go('findings'); findings.open(claim) },
})
const photos = new Photos({ say: text => table.say(text) })
const findings = new Findings({
  light(lines, parts) {
    notebook.light(lines)
    table.lightParts(parts)
  },
  put: text => { go('notebook'); notebook.put(text) },
  toLine: line => { go('notebook'); notebook.show(line) },
})
notebook.onClaim = claim => { go('findings'); findings.open(claim) }

listen({
  away: away => { state.textContent = away ? 'The bench page is not running; what is typed stays here until it is back.' : '' },
  busy: busy => { state.textContent = busy ? 'Working out what follows …' : '' },
  async changed(early) { // while the rest is being worked out, only the notes are new
    await notebook.refresh()
    if (!early) await Promise.all([findings.refresh(), table.refresh()])
  },
  pictures: () => table.picturesChanged(),
})
table.refresh()
