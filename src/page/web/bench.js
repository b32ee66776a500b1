// The bench: its places wired to each other. Each module has one subject and knows the others only by what is passed to it.
import { Findings } from './findings.js'
import { Light } from './light.js'
import { listen } from './live.js'
import { Notebook } from './notes.js'
import { Photos } from './photos.js'
import { Table } from './table.js'

const body = document.body
const state = document.getElementById('state')

/* On a narrow screen one place is in sight at a time; on a wide one, one of them lies in front. */
function go(place) {
  body.dataset.place = place
  for (const button of document.querySelectorAll('nav button'))
    button.setAttribute('aria-pressed', String(button.dataset.go === place))
}
for (const button of document.querySelectorAll('nav button')) button.addEventListener('click', () => go(button.dataset.go))
const fronts = document.querySelectorAll('[data-front-of]')
function toFront(place) {
  body.dataset.front = place
  for (const button of fronts) button.setAttribute('aria-pressed', String(button.dataset.frontOf === place))
}
for (const button of fronts)
  button.addEventListener('click', () => toFront(body.dataset.front === button.dataset.frontOf ? 'table' : button.dataset.frontOf))
toFront(body.dataset.front)

const put = text => {
  go('notebook')
  notebook.put(text)
}
const open = claim => {
  go('findings')
  findings.open(claim)
}
const light = new Light([])
const notebook = new Notebook(put)
const table = new Table({
  put,
  open,
  light,
  add: text => notebook.add(text),
  undo: () => notebook.undo(),
  boards: names => photos.boards(names),
  again: () => light.again(),
  first: () => toFront('table'),
})
const photos = new Photos({ say: text => table.say(text) })
const findings = new Findings({
  light,
  put,
  toLine: line => {
    go('notebook')
    notebook.show(line)
    light.lines([line])
  },
})
light.places.push(notebook, table, findings)
notebook.onClaim = open
notebook.onLine = line => light.lines([line])

/* What has to be drawn follows once the words are seen: a large schematic takes its time. */
const AFTER = 50 // milliseconds
let soon
function drawSoon() {
  clearTimeout(soon)
  soon = setTimeout(async () => {
    await table.refresh()
    findings.draw()
  }, AFTER)
}

/* What follows from a note is often there as soon as the note: then both are drawn at once. */
const SOON = 25 // milliseconds
const SLOW = 150 // when it is said that something is being worked out
let early
let slow

listen({
  away: away => { state.textContent = away ? 'The bench page is not running; what is typed stays here until it is back.' : '' },
  busy(busy) {
    clearTimeout(slow)
    if (busy) slow = setTimeout(() => { state.textContent = 'Working out what follows …' }, SLOW)
    else state.textContent = ''
  },
  changed(now) {
    clearTimeout(early)
    if (now.findings === undefined) { // they are being worked out
      early = setTimeout(() => notebook.renew(now.notes), SOON)
      return
    }
    notebook.renew(now.notes)
    findings.renew(now.findings)
    drawSoon()
  },
  pictures: () => table.picturesChanged(),
})
table.refresh().then(() => findings.draw())
