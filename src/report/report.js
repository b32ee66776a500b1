// Lights a net or a part wherever it is drawn or listed, opens the evidence of what is drawn, and sorts tables. All that the
// page says can be read without it.
(() => {
  const all = selector => [...document.querySelectorAll(selector)]
  let held = null

  const light = what => {
    for (const element of all('.lit')) element.classList.remove('lit')
    if (what) for (const element of all(`[data-${what.key}="${CSS.escape(what.name)}"]`)) element.classList.add('lit')
  }
  const under = target => {
    const element = target.closest?.('[data-net], [data-ref]')
    if (!element) return null
    const key = element.dataset.net ? 'net' : 'ref'
    return { key, name: element.dataset[key] }
  }
  document.addEventListener('pointerover', ({ target }) => held || light(under(target)))
  document.addEventListener('focusin', ({ target }) => held || light(under(target)))
  document.addEventListener('keydown', ({ key }) => key === 'Escape' && light((held = null)))

  const anchor = text =>
    Array.from(new TextEncoder().encode(text), byte => {
      const character = String.fromCharCode(byte)
      return /[A-Za-z0-9.-]/.test(character) ? character : '_' + byte.toString(16).toUpperCase().padStart(2, '0')
    }).join('')
  const reveal = id => {
    const element = document.getElementById(id)
    for (let at = element; at; at = at.parentElement?.closest('details')) if (at.tagName === 'DETAILS') at.open = true
    element?.closest('details')?.setAttribute('open', '')
    return element
  }
  document.addEventListener('click', event => {
    const link = event.target.closest?.('a[href^="#"]')
    const what = under(event.target)
    if (what) {
      const again = held && held.key === what.key && held.name === what.name
      light((held = again ? null : what))
      if (link) event.preventDefault()
    } else if (link) {
      reveal(decodeURIComponent(link.hash.slice(1)))
    }
    const claim = event.target.closest?.('svg [data-claim]') // the first click on what is a part as well lights it
    if (claim && (!what || event.detail > 1)) reveal('claim-' + anchor(claim.dataset.claim))?.scrollIntoView()
  })
  if (location.hash) reveal(decodeURIComponent(location.hash.slice(1)))

  const collator = new Intl.Collator('en', { numeric: true })
  const order = column => (a, b) => {
    const [one, other] = [a.cells[column], b.cells[column]]
    const [worth, against] = [Number(one.dataset.sort), Number(other.dataset.sort)]
    return worth - against || collator.compare(one.textContent.trim(), other.textContent.trim())
  }
  for (const head of all('table.sortable thead th')) {
    const button = document.createElement('button')
    button.type = 'button'
    button.append(...head.childNodes)
    head.append(button)
    button.addEventListener('click', () => {
      const down = head.getAttribute('aria-sort') === 'ascending'
      for (const other of head.parentElement.cells) other.removeAttribute('aria-sort')
      head.setAttribute('aria-sort', down ? 'descending' : 'ascending')
      const body = head.closest('table').tBodies[0]
      const rows = [...body.rows].sort(order(head.cellIndex))
      body.append(...(down ? rows.reverse() : rows))
    })
  }
})()
