// Turns the pages: one screen at a time, and on it one callout at a time. Without it the screens stand below each other.
(() => {
  const screens = [...document.querySelectorAll('.screen')]
  const rings = screen => [...screen.querySelectorAll('.b-callout')]
  const said = screen => [...screen.querySelectorAll('.callouts li')]
  let at = 0 // screen
  let callout = 0 // on it, from 1; 0: none yet

  const turn = document.createElement('div')
  turn.className = 'turn'
  const button = (label, mark, act) => {
    const element = document.createElement('button')
    element.type = 'button'
    element.setAttribute('aria-label', label)
    element.textContent = mark
    element.addEventListener('click', act)
    turn.append(element)
    return element
  }
  const back = button('Back', '\u2190', () => step(-1))
  const place = turn.appendChild(document.createElement('span'))
  const next = button('Next', '\u2192', () => step(1))

  const show = () => {
    screens.forEach((screen, i) => screen.classList.toggle('now', i === at))
    for (const list of [rings(screens[at]), said(screens[at])]) list.forEach((element, i) => element.classList.toggle('now', i + 1 === callout))
    place.textContent = `${at + 1} / ${screens.length}`
    back.disabled = at === 0 && callout === 0
    next.disabled = at === screens.length - 1 && callout === said(screens[at]).length
    history.replaceState(null, '', `#screen-${at + 1}`)
    if (document.activeElement === document.body) screens[at].focus({ preventScroll: true })
    scrollTo(0, 0)
  }
  const go = (screen, which = 0) => {
    at = Math.min(Math.max(screen, 0), screens.length - 1)
    callout = which
    show()
  }
  const step = way => {
    const count = said(screens[at]).length
    if (callout + way >= 0 && callout + way <= count) return go(at, callout + way)
    const other = at + way
    if (other >= 0 && other < screens.length) go(other, way < 0 ? said(screens[other]).length : 0)
  }

  const keys = {
    ArrowRight: () => step(1), ArrowDown: () => step(1), PageDown: () => step(1), ' ': () => step(1),
    ArrowLeft: () => step(-1), ArrowUp: () => step(-1), PageUp: () => step(-1),
    Home: () => go(0), End: () => go(screens.length - 1),
  }
  document.addEventListener('keydown', event => {
    const held = event.ctrlKey || event.altKey || event.metaKey
    const pressing = event.target.closest?.('button') && event.key === ' '
    if (held || pressing || !keys[event.key]) return
    event.preventDefault()
    keys[event.key]()
  })
  let from = null
  document.addEventListener('touchstart', event => (from = event.touches.length === 1 ? event.touches[0] : null), { passive: true })
  document.addEventListener('touchend', event => {
    const to = event.changedTouches[0]
    const x = from ? to.clientX - from.clientX : 0
    const y = from ? to.clientY - from.clientY : 0
    from = null
    if (Math.abs(x) > 50 && Math.abs(x) > 2 * Math.abs(y)) step(x < 0 ? 1 : -1)
  })
  addEventListener('hashchange', () => go(Number(location.hash.slice(8)) - 1 || 0))

  document.documentElement.classList.add('live')
  document.querySelector('main').append(turn)
  go(Number(location.hash.slice(8)) - 1 || 0)
})()
