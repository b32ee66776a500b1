// How fast the bench page is, in Chromium and over its socket, for ./bench.sh: one line a measure, as bench/measure.h prints them.
// UNPICK: the program. Tiles are asked of nginx too, from the same files, in the same minute.
import { execFile, execFileSync, spawn } from 'node:child_process'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:net'
import { join } from 'node:path'
import { demo, serve, teardown } from './bench.mjs'
import { openBrowser, openPage } from './browser.mjs'
import { wall } from './invented.mjs'

const say = (name, value, bar, reference, ratio, met) => console.log([name, value, bar, reference, ratio, met ? 'met' : 'missed'].join('\t'))
const middle = list => list.toSorted((a, b) => a - b)[Math.floor(list.length / 2)]
const kib = pid => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))[1])

// ---- the first view

async function firstView(browser, url) {
  const VISITS = 7
  const [shown, loaded, bytes] = [[], [], []]
  for (let i = 0; i < VISITS; i++) {
    const page = await openPage(browser, url)
    await page.waitForFunction(() => performance.getEntriesByName('first-contentful-paint').length > 0)
    const told = await page.evaluate(() => {
      const [visit] = performance.getEntriesByType('navigation')
      const asked = performance.getEntriesByType('resource').filter(({ name }) => !/tile\?|copper\?/.test(name))
      return {
        shown: performance.getEntriesByName('first-contentful-paint')[0].startTime,
        loaded: visit.domContentLoadedEventEnd,
        bytes: visit.transferSize + asked.reduce((sum, { transferSize }) => sum + transferSize, 0),
      }
    })
    shown.push(told.shown)
    loaded.push(told.loaded)
    bytes.push(told.bytes)
    await page.context().close()
  }
  say('page in Chromium: first view of the demo', `${middle(shown).toFixed(0)} ms`, '< 100 ms', `ready to be used: ${middle(loaded).toFixed(0)} ms`, '-', middle(shown) < 100)
  const size = Math.max(...bytes) / 1000
  say('page in Chromium: first view without the photo', `${size.toFixed(0)} kB`, '< 150 kB', '-', '-', size < 150)
}

// ---- from a note to the findings

/* Milliseconds from the key to the findings that hold `shows`, as a person sees it. */
async function toFindings(page, note, shows) {
  await page.fill('#line', note)
  await page.press('#line', 'Escape')
  await page.waitForTimeout(300)
  await page.evaluate(wanted => {
    globalThis.seen = new Promise(resolve => {
      const known = document.getElementById('known')
      const watch = new MutationObserver(() => {
        if (!known.textContent.includes(wanted)) return
        watch.disconnect()
        requestAnimationFrame(() => resolve(performance.now() - globalThis.from))
      })
      watch.observe(known, { childList: true, subtree: true, characterData: true })
    })
    document.getElementById('line').addEventListener('keydown', () => { globalThis.from = performance.now() }, { once: true, capture: true })
  }, shows)
  await page.press('#line', 'Enter')
  return page.evaluate(() => globalThis.seen)
}

async function notes(browser, bench, what, bar) {
  const server = await serve(bench.folder)
  const page = await openPage(browser, server.url)
  await page.waitForTimeout(1500)
  const asked = Number(/(\d+) more open/.exec(await page.textContent('#known'))?.[1] ?? 0)
  const parts = Number(/(\d+) noted/.exec(await page.textContent('#known'))[1])
  const [words, circuit] = [[], []]
  for (let i = 1; i <= 7; i++) words.push(await toFindings(page, `ask "what of the ${i}th?"`, `${asked + i} more open`))
  for (let i = 1; i <= 5; i++) circuit.push(await toFindings(page, `part R${9000 + i} 0805 10k`, `${parts + i} noted`))
  say(`page in Chromium: a question to findings, ${what}`, `${middle(words).toFixed(0)} ms`, `< ${bar} ms`, `best ${Math.min(...words).toFixed(0)} ms`, '-', middle(words) < bar)
  say(`page in Chromium: a part to findings, ${what}`, `${middle(circuit).toFixed(0)} ms`, `< ${bar} ms`, `best ${Math.min(...circuit).toFixed(0)} ms`, '-', middle(circuit) < bar)
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
  const get = async path => (await fetch(server.url + path, { headers: { Host: new URL(server.url).host } })).json()
  const { pictures: [picture] } = await get('boards')
  while (!(await get(`picture?id=${picture.id}`)).ready) await new Promise(resolve => setTimeout(resolve, 100))
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
await firstView(browser, server.url)
await server.kill()
await notes(browser, whole, 'the demo', 50)
await notes(browser, teardown(wall(286)), '2,000 parts', 300)
await browser.close()
if (there('nginx') && there('wrk')) await tiles()
else console.error('speed.mjs: no nginx or no wrk here, so tiles were not timed: tools/install.sh bench')
process.exit()
