// What changed, as it changes. The server tells its whole state each time, so nothing is lost when a message is.
export function listen({ away, busy, changed, pictures }) {
  let version = document.documentElement.dataset.version
  let cut
  let source

  function connect() {
    source = new EventSource(`live?version=${version}`)
    source.onmessage = event => {
      const said = JSON.parse(event.data)
      version = said.version
      away(false)
      busy(said.busy)
      if (said.notes !== undefined) changed(said)
      if (said.pictures !== cut) pictures() // the first time too: one may have been cut since the page asked
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
