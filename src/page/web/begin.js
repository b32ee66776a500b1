// A bench without a teardown: make a folder, or a copy of the demo.
const says = document.getElementById('says')

async function begin(path, name) {
  const answer = await fetch(path, { method: 'POST', body: name })
  if (answer.ok) location.reload()
  else says.textContent = await answer.text()
}

document.getElementById('begin').addEventListener('submit', event => {
  event.preventDefault()
  begin('begin', document.getElementById('name').value)
})
document.getElementById('demo').addEventListener('click', () => begin('begin?demo=1', ''))
