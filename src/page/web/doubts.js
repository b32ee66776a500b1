// Places where the photo leaves it open whether two pieces of copper are one, one after the other, each answered by one key.
export class Doubts {
  constructor({ add, view, mark }) {
    Object.assign(this, { add, view, mark })
    this.box = document.getElementById('doubt')
    this.says = document.getElementById('doubt-says')
    this.by = document.getElementById('told-by')
    this.later = new Set() // put off, by the note that would join them
    for (const deed of ['joined', 'apart', 'skip', 'go'])
      document.getElementById(`doubt-${deed}`).addEventListener('click', () => this.answer(deed))
    document.getElementById('table').addEventListener('keydown', event => this.key(event))
  }

  show(doubts) {
    this.doubts = doubts
    const open = doubts.filter(doubt => !this.later.has(doubt.joined))
    this.now = open[0]
    this.box.hidden = !this.now
    this.mark(this.now)
    if (!this.now) return
    const names = [this.now.net_a, this.now.net_b].filter(Boolean)
    const looks = this.now.looks.charAt(0).toUpperCase() + this.now.looks.slice(1)
    const nets = names.length === 2 && names[0] !== names[1] ? ` It lies between ${names.join(' and ')}.` : ''
    this.says.textContent = `Joined or apart? ${looks}: joined with ${Math.round(this.now.p * 100)} %.${nets}` +
      (open.length > 1 ? ` ${open.length - 1} more such places.` : '')
  }

  key(event) {
    const deed = { j: 'joined', a: 'apart', l: 'skip', g: 'go' }[event.key.toLowerCase()]
    if (!deed || !this.now || event.ctrlKey || event.altKey || event.metaKey || event.target.matches('select, input')) return
    event.preventDefault()
    this.answer(deed)
  }

  async answer(deed) {
    const doubt = this.now
    if (!doubt) return
    if (deed === 'go') return this.view.centreOn(doubt.at)
    if (deed === 'skip') this.later.add(doubt.joined)
    else if (!(await this.add(`${doubt[deed]} by ${this.by.value}`)).ok) return
    else this.later.add(doubt.joined) // until the copper has been read again
    this.show(this.doubts)
    if (this.now) this.view.centreOn(this.now.at)
  }
}
