// How fast the bench page is, in Chromium and over its socket, for ./bench.sh: one line a measure, as bench/measure.h prints them.
// UNPICK: the program. Tiles are asked of nginx too, from the same files, in the same minute.
import { execFile, execFileSync, spawn } from 'node:child_process'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { createServer as createWebServer } from 'node:http'
import { createServer } from 'node:net'
import { join } from 'node:path'
import { demo, serve, teardown } from './bench.mjs'
import { openBrowser, openPage } from './browser.mjs'
import { wall } from './invented.mjs'

const say = (name, value, bar, reference, ratio, met) => console.log([name, value, bar, reference, ratio, met ? 'met' : 'missed'].join('\t'))
const middle = list => list.toSorted((a, b) => a - b)[Math.floor(list.length / 2)]
const ms = value => `${value.toFixed(0)} ms`
const kib = pid => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1])

/* The first picture, once its tiles are cut: until then the server has both cores busy. */
async function cut(server) {
  const get = async path => (await fetch(server.url + path)).json()
  const { pictures: [picture] } = await get('boards')
  while (!(await get(`picture?id=${picture.id}`)).ready) await new Promise(resolve => setTimeout(resolve, 100))
  return picture
}

// ---- the first view

/* The browser's own share: a page that says one sentence, of as many bytes and with the same headers as ours. */
async function nothing(url) {
  const ours = await fetch(url)
  const size = (await ours.arrayBuffer()).byteLength
  const page = `<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Nothing</title></head><body><p>Nothing is done here.</p><!--${' '.repeat(size)}--></body></html>`
  const headers = [...ours.headers].filter(([name]) => !/^(date|connection|content-length|keep-alive)$/.test(name))
  const server = createWebServer((asked, answer) => { for (const [name, value] of headers) answer.setHeader(name, value); answer.end(page) })
  await new Promise(resolve => server.listen(0, '127.0.0.1', resolve))
  return { url: `http://localhost:${server.address().port}/`, end: () => server.close() }
}

/* In a tab that is in use, as a person goes there from another page, with nothing of ours kept from before. What a browser takes to begin a
 * new tab's process is its own affair, and longer than all that follows. */
async function visit(page, tab, url) {
  await tab.send('Network.clearBrowserCache')
  await page.waitForTimeout(400)
  await page.goto(url, { waitUntil: 'load' })
  await page.waitForFunction(() => performance.getEntriesByName('first-contentful-paint').length > 0)
  return page.evaluate(() => {
    const [visit] = performance.getEntriesByType('navigation')
    const asked = performance.getEntriesByType('resource').filter(({ name }) => !/tile\?|copper\?/.test(name))
    return {
      shown: performance.getEntriesByName('first-contentful-paint')[0].startTime,
      loaded: visit.domContentLoadedEventEnd,
      bytes: visit.transferSize + asked.reduce((sum, { transferSize }) => sum + transferSize, 0),
    }
  })
}

async function firstView(browser, url) {
  const VISITS = 11
  const [ours, bare] = [[], []]
  const reference = await nothing(url)
  const page = await openPage(browser, reference.url)
  const tab = await page.context().newCDPSession(page)
  for (let i = 0; i < VISITS; i++) { // by turns, since the machine does other things too; each from the page that does nothing
    ours.push(await visit(page, tab, url))
    await visit(page, tab, reference.url)
    bare.push(await visit(page, tab, `${reference.url}?${i}`))
  }
  await page.context().close()
  reference.end()
  const [shown, loaded, floor] = [ours.map(told => told.shown), ours.map(told => told.loaded), bare.map(told => told.shown)].map(middle)
  const floorSays = `a page that does nothing, as long: ${ms(floor)}`
  say('page in Chromium: first view of the demo, nothing cached', `${ms(shown)}, ready to be used ${ms(loaded)}`, '< 100 ms', floorSays, `${(shown / floor).toFixed(1)} x`, shown < 100)
  const size = Math.max(...ours.map(told => told.bytes)) / 1000
  say('page in Chromium: first view without the photo', `${size.toFixed(0)} kB`, '< 150 kB', '-', '-', size < 150)
}

// ---- from a note to the findings

/* Milliseconds from the key to the findings that hold `shows`, once they are painted. */
async function toFindings(page, note, shows) {
  await page.fill('#line', note)
  await page.press('#line', 'Escape')
  await page.waitForTimeout(400)
  await page.evaluate(wanted => {
    const known = document.getElementById('known')
    globalThis.seen = new Promise(resolve => {
      const watch = new MutationObserver(() => {
        if (!known.textContent.includes(wanted)) return
        watch.disconnect()
        globalThis.painted(resolve)
      })
      watch.observe(known, { childList: true, subtree: true, characterData: true })
    })
    document.getElementById('line').addEventListener('keydown', () => { globalThis.from = performance.now() }, { once: true, capture: true })
  }, shows)
  await page.press('#line', 'Enter')
  return page.evaluate(() => globalThis.seen)
}

/* The browser's own share: from a key to a word that an answer of the server puts on the same page, when there is nothing to work out. */
async function toWord(page) {
  await page.waitForTimeout(400)
  await page.evaluate(() => {
    globalThis.seen = new Promise(resolve => {
      document.getElementById('line').addEventListener('keydown', async () => {
        const from = performance.now()
        await (await fetch('check', { method: 'POST', body: 'ask "what?"' })).text()
        document.querySelector('#known h3').textContent += ' '
        globalThis.painted(resolve, from)
      }, { once: true, capture: true })
    })
  })
  await page.press('#line', 'Shift')
  return page.evaluate(() => globalThis.seen)
}

/* A frame's callbacks come before it is painted, a message sent by one of them after it. */
const watchPaint = page => page.evaluate(() => {
  globalThis.painted = (resolve, from) => requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel()
    port1.onmessage = () => resolve(performance.now() - (from ?? globalThis.from))
    port2.postMessage(0)
  })
})

async function notes(browser, bench, what, bar) {
  const server = await serve(bench.folder)
  const page = await openPage(browser, server.url)
  await watchPaint(page)
  await page.waitForTimeout(1500)
  const asked = Number(/(\d+) more open/.exec(await page.textContent('#known'))?.[1] ?? 0)
  const parts = Number(/(\d+) noted/.exec(await page.textContent('#known'))[1])
  const [words, circuit, bare] = [[], [], []]
  for (let i = 1; i <= 9; i++) {
    bare.push(await toWord(page))
    words.push(await toFindings(page, `ask "what of the ${i}th?"`, `${asked + i} more open`))
    circuit.push(await toFindings(page, `part R${9000 + i} 0805 10k`, `${parts + i} noted`))
  }
  const floor = middle(bare)
  for (const [name, list] of [['question', words], ['part', circuit]])
    say(`page in Chromium: a ${name} to findings, ${what}`, `${ms(middle(list))}, best ${ms(Math.min(...list))}`, `< ${bar} ms`, `a key, an answer, a word: ${ms(floor)}`, `${(middle(list) / floor).toFixed(1)} x`, middle(list) < bar)
  await page.context().close()
  await server.kill()
}

// ---- tiles, beside nginx

const freePort = () => new Promise(resolve => {
  const probe = createServer().listen(0, '127.0.0.1', () => { const { port } = probe.address(); probe.close(() => resolve(port)) })
})

const there = command => { try { return execFileSync('sh', ['-c', `command -v ${command}`]).length > 0 } catch { return false } }

/* Requests a second that wrk gets answered, with nothing else under way. */
const wrk = (url, host) => new Promise((resolve, reject) => {
  execFile('wrk', ['-t1', '-c8', '-d4s', ...(host ? ['-H', `Host: ${host}`] : []), url], (error, out) => {
    const rate = /Requests\/sec:\s+([\d.]+)/.exec(out)
    if (error || !rate || /Non-2xx/.test(out)) reject(new Error(`wrk: ${error ?? out}`))
    else resolve(Number(rate[1]))
  })
})

async function nginx(root, port) {
  mkdirSync(join(root, 'logs'), { recursive: true })
  writeFileSync(join(root, 'nginx.conf'), `daemon off; pid ${root}/nginx.pid; error_log ${root}/logs/error.log; worker_processes auto; ${process.getuid() === 0 ? 'user root;' : ''}
events { worker_connections 256; }
http { access_log off; sendfile on; tcp_nopush on; open_file_cache max=1000; types { image/jpeg jpg; }
  client_body_temp_path ${root}/logs; proxy_temp_path ${root}/logs; fastcgi_temp_path ${root}/logs; uwsgi_temp_path ${root}/logs; scgi_temp_path ${root}/logs;
  server { listen 127.0.0.1:${port}; root ${root}/tiles; } }`)
  const child = spawn('nginx', ['-p', root, '-c', join(root, 'nginx.conf')], { stdio: 'ignore' })
  await new Promise(resolve => setTimeout(resolve, 700))
  return child
}

async function many(url, count) {
  const AT_ONCE = 20
  for (let sent = 0; sent < count; sent += AT_ONCE)
    await Promise.all(Array.from({ length: AT_ONCE }, (_, i) => fetch(url + (i % 2 ? 'findings' : 'complete?typed=join%20Q')).then(answer => answer.arrayBuffer())))
}

async function tiles() {
  const bench = demo()
  const server = await serve(bench.folder)
  const picture = await cut(server)
  const folder = join(bench.folder, 'derived')
  const name = readdirSync(join(folder, 'tiles', picture.id)).filter(file => file.startsWith('0-')).sort()[0]
  const [level, x, y] = name.replace('.jpg', '').split('-')
  const port = await freePort()
  const reference = await nginx(folder, port)
  const ours = `${server.url.replace('localhost', '127.0.0.1')}tile?id=${picture.id}&level=${level}&x=${x}&y=${y}`
  const theirs = `http://127.0.0.1:${port}/${picture.id}/${name}`
  const rates = [[], []]
  for (let i = 0; i < 3; i++) { // by turns, since the machine does other things too
    rates[0].push(await wrk(ours))
    rates[1].push(await wrk(theirs))
  }
  const [rate, other] = rates.map(middle)
  say('page: cached tiles, 8 connections (wrk)', `${rate.toFixed(0)} /s`, 'half of nginx', `nginx, the same file: ${other.toFixed(0)} /s`, `${(rate / other).toFixed(2)} x`, rate >= other / 2)
  reference.kill('SIGTERM')
  await many(server.url, 1000) // so that every thread has what it needs
  const before = kib(server.pid)
  await many(server.url, 10000)
  const more = (kib(server.pid) - before) / 1024
  say('page: memory more after 10,000 requests', `${more.toFixed(1)} MiB`, '< 2 MiB', `before: ${(before / 1024).toFixed(0)} MiB`, '-', more < 2)
  await server.kill()
}

const browser = await openBrowser()
const whole = demo()
const server = await serve(whole.folder)
await cut(server)
await firstView(browser, server.url)
await server.kill()
await notes(browser, whole, 'the demo', 50)
await notes(browser, teardown(wall(286)), '2,000 parts', 300)
await browser.close()
if (there('nginx') && there('wrk')) await tiles()
else console.error('speed.mjs: no nginx or no wrk here, so tiles were not timed: tools/install.sh bench')
process.exit()
