// What is long is fetched when somebody opens it (details with data-from), and again after a change while it is open.
export class Lazy {
  constructor(container, filled = () => {}) {
    Object.assign(this, { container, filled })
    this.round = 0 // of changes: what was filled in this one is as it should be
    container.addEventListener('toggle', event => event.target.open && this.fill(event.target), true) // it does not bubble
  }

  async fill(details) {
    if (!details.dataset.from || details.round === this.round) return
    details.round = this.round
    const answer = await fetch(details.dataset.from)
    if (!answer.ok) return
    details.querySelector('.fetched').innerHTML = await answer.text() // escaped where it was written
    this.filled(details)
  }

  refresh() {
    this.round++
    return Promise.all([...this.container.querySelectorAll('details[open][data-from]')].map(details => this.fill(details)))
  }
}
