// The bench page asked for everything at once, while notes are added, files change and clients break off: for a build that watches its
// threads (test.sh --long). It passes when the program is still there, ends when asked to, and had nothing to say meanwhile.
// UNPICK: the program; SECONDS: for how long.
import { readFileSync, writeFileSync } from 'node:fs'
import { connect } from 'node:net'
import { join } from 'node:path'
import { demo, serve } from './bench.mjs'
import { check, done } from './tap.mjs'

const SECONDS = Number(process.env.SECONDS ?? 30)
const photo = readFileSync(new URL('../../demo/dispenser/photos/a-bottom.jpg', import.meta.url))

await check(`asked for everything at once for ${SECONDS} s`, async () => {
  const bench = demo()
  const server = await serve(bench.folder, { options: ['--port', '18017'] })
  const origin = server.origin
  const until = Date.now() + SECONDS * 1000
  const get = async path => (await fetch(server.url + path)).text()
  const { pictures: [picture] } = JSON.parse(await get('boards'))
  const paths = ['', 'notes', 'notes?all=1', 'findings', 'boards', 'blocks', 'schematic', 'numbers', 'parts', 'more?of=open', 'line?n=40', 'light?net=VDD', 'why?claim=x', 'complete?typed=join%20Q',
    `copper?id=${picture.id}`, `picture?id=${picture.id}`, `tile?id=${picture.id}&level=0&x=0&y=0`, `snap?id=${picture.id}&x=20&y=9&reach=1`, 'outline?note=part%20U9%20SOP-8', 'web/bench.js']
  const again = async deed => { while (Date.now() < until) await deed() }
  const readers = Array.from({ length: 6 }, (_, n) => { let i = n * 3; return again(() => get(paths[i++ % paths.length])) })
  let line = 0
  const writer = again(async () => {
    const body = line++ % 3 ? `ask "stress ${line}"` : `part R${1000 + line} 0805 10k`
    await fetch(`${server.url}add`, { method: 'POST', body, headers: { Origin: origin } })
  })
  const editor = again(async () => { bench.editor('# an editor\n'); await new Promise(resolve => setTimeout(resolve, 70)) })
  const photographer = again(async () => {
    await fetch(`${server.url}photo?name=more.jpg`, { method: 'POST', body: photo, headers: { Origin: origin } })
    writeFileSync(join(bench.folder, 'photos/other.jpg'), photo)
    await new Promise(resolve => setTimeout(resolve, 1500))
  })
  const listener = again(() => new Promise(resolve => { // who listens for a while and goes away
    const { port, pathname } = new URL(server.url)
    const socket = connect(Number(port), '127.0.0.1', () => socket.write(`GET ${pathname}live HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\n\r\n`))
    socket.on('error', () => {})
    setTimeout(() => { socket.destroy(); resolve() }, 200)
  }))
  await Promise.all([...readers, writer, editor, photographer, listener])
  const status = await server.stop()
  const said = server.said().split('\n').filter(text => text && !/^(Open in a browser|End with)/.test(text))
  if (said.length > 0) throw new Error(said.join('\n'))
  if (status !== 0) throw new Error(`it ended with ${status}`)
})
done()
process.exit()
