// A sheet: what the server wrote, piece by piece (page/markup.h). A piece is an element with an id and a hash of what is in it; what is
// the same stays the same element, with what is open, lit and focused in it.
const HEAD = /^<\w+ id="([^"]*)" data-is="([^"]*)"/

/* Details that a person opened stay open in what takes their place. */
function keepOpen(before, element) {
  const now = element.querySelectorAll('details')
  before.querySelectorAll('details').forEach((was, i) => { if (was.open && now[i]) now[i].open = true })
}

function read(html) {
  const template = document.createElement('template')
  template.innerHTML = html // escaped where it was written
  return template.content.firstElementChild
}

export class Sheet {
  /* container: its children are the pieces; tag: of each of them */
  constructor(container, tag) {
    this.container = container
    this.begins = new RegExp(`^(?=<${tag} )`, 'm')
  }

  /* Puts new HTML in place of the old; what it gives is the pieces that are new. */
  put(html) {
    const wanted = html.split(this.begins).map(written => ({ written, head: HEAD.exec(written) })).filter(({ head }) => head)
    const ids = new Set(wanted.map(({ head }) => head[1]))
    const old = new Map()
    for (const element of [...this.container.children]) ids.has(element.id) ? old.set(element.id, element) : element.remove()
    const fresh = []
    let at = this.container.firstElementChild
    for (const { written, head: [, id, is] } of wanted) {
      const before = old.get(id)
      const same = before?.dataset.is === is
      const element = same ? before : read(written)
      if (element === at) at = at.nextElementSibling
      else this.container.insertBefore(element, at)
      if (same) continue
      fresh.push(element)
      if (before) at = this.replace(before, element, at)
    }
    return fresh
  }

  replace(before, element, at) {
    keepOpen(before, element)
    const next = at === before ? at.nextElementSibling : at
    before.remove()
    return next
  }
}
