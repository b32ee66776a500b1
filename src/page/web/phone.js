// The phone: a picture taken is a photo in the teardown.
import { send } from './photos.js'

const files = document.getElementById('files')
const sent = document.getElementById('sent')

files.addEventListener('change', async () => {
  for (const file of files.files) {
    const item = sent.appendChild(document.createElement('li'))
    item.textContent = 'Sending …'
    item.textContent = (await send(file, document.getElementById('shows').value)).says
  }
  files.value = ''
})
