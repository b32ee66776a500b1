// The phone: a picture taken is a photo in the teardown.
import { send } from './photos.js'

const files = document.getElementById('files')
const sent = document.getElementById('sent')

files.addEventListener('change', async () => {
  const chosen = [...files.files]
  files.value = '' // at once: what is chosen meanwhile must stay
  for (const file of chosen) {
    const item = sent.appendChild(document.createElement('li'))
    item.textContent = 'Sending …'
    item.textContent = (await send(file, document.getElementById('shows').value)).says
  }
})
