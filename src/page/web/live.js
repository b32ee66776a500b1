// What changed, as it changes. The server tells its whole state each time, so nothing is lost when a message is.
export function listen({ away, busy, changed, pictures }) {
  let version = Number(document.documentElement.dataset.version)
  let cut = null
  let source

  function connect() {
    source = new EventSource('live')
    source.onmessage = event => {
      const said = JSON.parse(event.data)
      away(false)
      busy(said.busy)
      if (said.version !== version) {
        version = said.version
        changed(said.busy)
      }
      if (cut !== null && said.pictures !== cut) pictures()
      cut = said.pictures
    }
    source.onerror = () => {
      away(true)
      if (source.readyState === EventSource.CLOSED) setTimeout(connect, 1000) // it gives up after an answer that is no stream
    }
  }
  connect()
  addEventListener('pagehide', () => source.close())
}

/* Details that a person opened stay open in what takes their place. */
function keepOpen(before, element) {
  if (before.open) element.open = true
  const now = element.querySelectorAll('details')
  before.querySelectorAll('details').forEach((was, i) => { if (was.open && now[i]) now[i].open = true })
}

/* Puts new HTML in place of the old; what is the same stays the same element, with what is open and focused in it. */
export function swap(container, html) {
  const template = document.createElement('template')
  template.innerHTML = html
  const focused = document.activeElement
  const old = new Map([...container.querySelectorAll('[id]')].map(element => [element.id, element]))
  const stay = parent => {
    for (const element of [...parent.children]) {
      const before = element.id && old.get(element.id)
      if (before && before.written === element.outerHTML) {
        element.replaceWith(before)
        continue
      }
      if (element.id) element.written = element.outerHTML
      stay(element)
      if (before) keepOpen(before, element)
    }
  }
  stay(template.content)
  container.replaceChildren(template.content)
  if (focused && focused !== document.activeElement && container.contains(focused)) focused.focus({ preventScroll: true })
}

/* What the server wrote into the page at first is compared with what comes later. */
export function remember(container) {
  for (const element of container.querySelectorAll('[id]')) element.written = element.outerHTML
}
