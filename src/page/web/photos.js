// Photos brought to the bench: dropped, pasted or chosen. The server looks whether they are photos; it alone can tell.
const ENDINGS = { 'image/jpeg': '.jpg', 'image/png': '.png', 'image/webp': '.webp', 'image/heic': '.heic', 'image/heif': '.heic' }

/* The file's own name where it can stand, else one that says where it came from. */
function nameOf(file) {
  const name = file.name.replaceAll(/[^\p{L}\p{N} ._-]/gu, '-').replace(/^[.\s]+/, '').slice(-60)
  if (/\.(jpe?g|png|webp|hei[cf])$/i.test(name)) return name
  return `photo${ENDINGS[file.type] ?? '.jpg'}`
}

export async function send(file, shows) {
  const query = new URLSearchParams({ name: nameOf(file), shows })
  try {
    const answer = await fetch(`photo?${query}`, { method: 'POST', body: file })
    if (!answer.ok) return { ok: false, says: `${file.name}: ${(await answer.text()).trim()}` }
    const said = await answer.json()
    return { ok: true, says: said.line ? `${said.file} is on the bench, in line ${said.line}.` : `${said.file} is kept, but no note says so yet.` }
  } catch {
    return { ok: false, says: `${file.name}: the bench page does not answer.` }
  }
}

export class Photos {
  constructor({ say }) {
    this.say = say
    this.turn = Promise.resolve()
    this.refused = []
    this.shows = document.getElementById('shows')
    const files = document.getElementById('files')
    const mat = document.getElementById('mat')
    files.addEventListener('change', () => {
      const chosen = [...files.files]
      files.value = '' // at once: what is chosen meanwhile must stay
      this.take(chosen)
    })
    addEventListener('paste', event => event.clipboardData?.files.length && this.take(event.clipboardData.files))
    addEventListener('dragover', event => { event.preventDefault(); mat.classList.add('over') })
    addEventListener('dragleave', event => event.relatedTarget || mat.classList.remove('over'))
    addEventListener('drop', event => {
      event.preventDefault()
      mat.classList.remove('over')
      if (event.dataTransfer?.files.length) this.take(event.dataTransfer.files)
    })
    document.getElementById('phone').addEventListener('click', () => this.invite())
  }

  boards(names) {
    const before = this.shows.value
    const sides = names.flatMap(name => ['top', 'bottom'].map(side => new Option(`Board ${name}, ${side}`, `${name} ${side}`)))
    this.shows.replaceChildren(new Option('the product', ''), ...sides)
    this.shows.value = before
    if (this.shows.selectedIndex < 0) this.shows.value = ''
  }

  /* One after the other; what went wrong stays in sight while others go well. */
  take(files) {
    const shows = this.shows.value
    for (const file of files) this.turn = this.turn.then(() => this.bring(file, shows))
  }

  async bring(file, shows) {
    this.say(`Looking at ${file.name} …`)
    const { ok, says } = await send(file, shows)
    if (!ok) this.refused.push(says)
    this.say([...(ok ? [says] : []), ...this.refused].join(' '))
    clearTimeout(this.timer)
    this.timer = setTimeout(() => { this.refused = [] }, 10000)
  }

  async invite() {
    const dialog = document.getElementById('invite')
    const answer = await fetch('invite', { method: 'POST' })
    if (!answer.ok) return
    dialog.querySelector('div').innerHTML = await answer.text() // escaped where it was written
    dialog.showModal()
  }
}
