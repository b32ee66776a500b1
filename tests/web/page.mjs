// The bench page in headless Chromium, as a person works at it. UNPICK: the program.
import { readFileSync, readdirSync } from 'node:fs'
import { request } from 'node:http'
import { join } from 'node:path'
import { demo, serve, teardown } from './bench.mjs'
import { accessibility, openBrowser, openPage as openAnyPage } from './browser.mjs'
import { check, done, none } from './tap.mjs'

const browser = await openBrowser()
const PATIENCE = 15000 // milliseconds that a story waits for anything
const photo = readFileSync(new URL('../../demo/dispenser/photos/a-bottom.jpg', import.meta.url))

async function openPage(...asked) {
  const page = await openAnyPage(...asked)
  page.setDefaultTimeout(PATIENCE)
  return page
}

function assert(held, what) { if (!held) throw new Error(what) }
const same = (got, wanted, what = 'value') => assert(got === wanted, `${what}: ${JSON.stringify(got)}, expected ${JSON.stringify(wanted)}`)

/* One story: a bench, its page, and nothing heard on the console at the end unless `quiet` is false. */
async function story(name, bench, tell, { options = {}, serving = {}, quiet = true } = {}) {
  await check(name, async () => {
    const server = await serve(bench.folder, serving)
    const page = await openPage(browser, server.url, options)
    try {
      await tell({ bench, server, page })
      if (quiet) none(page.heard, 'console')
    } finally {
      await page.context().close()
      await server.kill()
    }
  })
}

const write = async (page, note) => {
  await page.fill('#line', note)
  await page.press('#line', 'Escape')
  await page.press('#line', 'Enter')
  await page.waitForFunction(() => /Written down/.test(document.getElementById('check').textContent))
}
const lineWith = (page, text) => page.waitForSelector(`#notes li:has-text(${JSON.stringify(text)})`)

/* A bare HTTP request, as no browser would send it. */
const raw = (url, { method = 'GET', headers = {}, body } = {}) =>
  new Promise((resolve, reject) => {
    const { port, pathname, search } = new URL(url)
    const asked = request({ host: '127.0.0.1', port, path: pathname + search, method, headers }, answer => {
      let text = ''
      answer.on('data', bytes => { text += bytes })
      answer.on('end', () => resolve({ status: answer.statusCode, text, headers: answer.headers }))
    })
    asked.on('error', reject)
    asked.end(body)
  })

// ---- the first minute

await check('without a folder a teardown is begun', async () => {
  const { folder: cwd } = teardown()
  const server = await serve(null, { cwd })
  const page = await openPage(browser, server.url)
  await page.fill('#name', 'fan')
  await page.click('button[type=submit]')
  await page.waitForSelector('#first')
  assert(readFileSync(join(cwd, 'fan/notes.txt'), 'utf8').startsWith('# Bench notes'), 'there are no notes')
  none(await accessibility(page), 'accessibility')
  await page.context().close()
  await server.kill()
})

await check('a folder outside of here can’t be begun', async () => {
  const server = await serve(null, { cwd: teardown().folder })
  for (const name of ['../x', '/tmp/x', '.x', 'a/b', ''])
    same((await raw(`${server.url}begin`, { method: 'POST', body: name, headers: { Host: new URL(server.url).host, Origin: server.origin } })).status, 422, name)
  await server.kill()
})

await story('an empty teardown says what to do first, hazards before anything', teardown(), async ({ page }) => {
  const cards = await page.$$eval('#known .card', list => list.map(card => card.id))
  same(cards.join(' ').startsWith('hazards first'), true, cards.join(' '))
  await page.click('#first button')
  same(await page.inputValue('#line'), 'product "what it is" household')
})

// ---- notes

await story('a note is written down, and what follows from it shows', teardown(), async ({ bench, page }) => {
  await write(page, 'product "Lamp" household')
  await write(page, 'part BT1 battery 4 x LR03')
  await lineWith(page, 'part BT1')
  assert(bench.notes().endsWith('part BT1 battery 4 x LR03\n'), bench.notes())
  await page.click('#parts summary')
  await page.waitForSelector('#parts th button:has-text("BT1")')
})

await story('a mistake is shown where it is while it is typed, and nothing is kept of it', teardown(), async ({ bench, page }) => {
  await page.type('#line', 'join U1.8 R1.1 by metre')
  await page.waitForSelector('#check.wrong mark:has-text("metre")')
  assert((await page.textContent('#check')).includes('meter'), await page.textContent('#check'))
  await page.press('#line', 'Escape')
  await page.press('#line', 'Enter')
  await page.waitForTimeout(200)
  same(bench.notes(), '')
  same(await page.inputValue('#line'), 'join U1.8 R1.1 by metre')
}, { quiet: false }) // the refusal is an error to the browser

await story('verbs, references and pins complete from the keyboard', teardown(['part Q1 SOT-23 npn', 'part R1 0805']), async ({ page }) => {
  await page.focus('#line')
  await page.keyboard.type('jo')
  await page.waitForSelector('#offers li:has-text("join")')
  await page.keyboard.press('Tab')
  await page.keyboard.type('Q1.')
  await page.waitForSelector('#offers li:has-text("Q1.B")')
  await page.keyboard.press('ArrowDown')
  const chosen = await page.getAttribute('#line', 'aria-activedescendant')
  const text = await page.getAttribute(`#${chosen}`, 'data-text')
  await page.keyboard.press('Enter')
  same(await page.inputValue('#line'), `join ${text} `)
  await page.waitForFunction(() => document.getElementById('help').textContent.includes('join END END'))
})

await story('undo strikes the line, and is undone', teardown(), async ({ bench, page }) => {
  await write(page, 'part R1 0805')
  await page.click('#undo')
  await page.waitForSelector('li.struck')
  assert(bench.notes().includes('strike 1 "undone"'), bench.notes())
  await page.click('li.struck summary')
  await page.click('li.struck button:has-text("count again")')
  await page.waitForFunction(() => !document.querySelector('#line-1.struck'))
  assert(bench.notes().startsWith('part R1 0805\n'), 'a line was taken out')
})

await story('text that means mischief stays text', teardown(['product "<img src=x onerror=document.title=1>" household', 'part U1 SOP-8 marked "</code><script>document.title=1</script>"', 'claim U1 "<b onmouseover=alert(1)>x</b>" sure 60%']), async ({ page }) => {
  await page.click('.claim button[data-claim="stated:U1"]')
  await page.waitForSelector('.why')
  same(await page.title(), '<img src=x onerror=document.title=1> on the bench')
  same(await page.$$eval('main script, main img[src=x], main b[onmouseover]', list => list.length), 0)
})

// ---- what is known

const contradicted = ['part U1 SOP-8', 'part U2 SOP-8', 'join U1.1 U2.1 by eye', 'apart U1.1 U2.1 by meter']
await story('a contradiction is shown with its lines, and repaired by a strike', teardown(contradicted), async ({ page }) => {
  await page.click('#contradictions button')
  same(await page.$$eval('li.lit', list => list.map(item => item.dataset.line).join(' ')), '3 4')
  await page.click('#line-3 summary')
  await page.click('#line-3 button:has-text("Strike")')
  await page.waitForFunction(() => !document.getElementById('contradictions'))
})

await story('a claim opens on its tally, and the tally leads to the notes', teardown(['part U1 SOP-8', 'claim U1 "a timer" sure 70%']), async ({ page }) => {
  await page.click('.claim button[data-claim="stated:U1"]')
  await page.waitForSelector('.tally')
  same(await page.getAttribute('.claim button[data-claim="stated:U1"]', 'aria-expanded'), 'true')
  await page.click('.why button:has-text("line 2")')
  same(await page.evaluate(() => document.activeElement.closest('li').id), 'line-2')
  await page.click('#line-2 .bears button')
  assert(await page.$('.why'), 'it does not lead back')
})

// ---- live

await story('what an editor writes shows within 200 ms', teardown(), async ({ bench, page }) => {
  const times = []
  for (let i = 1; i <= 5; i++) {
    await page.evaluate(n => {
      globalThis.seen = new Promise(resolve => {
        const watch = new MutationObserver(() => {
          if (document.querySelector(`#notes [data-line="${n}"]`)) resolve(Date.now())
        })
        watch.observe(document.getElementById('notes'), { childList: true, subtree: true })
      })
    }, i)
    await page.waitForTimeout(100)
    const from = Date.now()
    bench.editor(`part R${i} 0805\n`)
    times.push((await page.evaluate(() => globalThis.seen)) - from)
  }
  times.sort((a, b) => a - b)
  console.log(`# an editor's line shown after ${times.join(', ')} ms`)
  const most = Number(process.env.LIVE_MS ?? 200) // a build that is made to check itself is allowed more
  assert(times[2] <= most, `the middle one took ${times[2]} ms`)
})

await story('a change leaves alone what is open and where the hand is', teardown(['part U1 SOP-8', 'claim U1 "a timer" sure 70%', 'part R1 0805']), async ({ bench, page }) => {
  await page.click('#line-3 summary')
  await page.waitForSelector('#line-3 button:has-text("Strike")')
  await page.click('.claim button[data-claim="stated:U1"]')
  await page.waitForSelector('.why .tally')
  await page.focus('#line-3 summary')
  await page.evaluate(() => { globalThis.before = [document.getElementById('how'), document.getElementById('line-3'), document.querySelector('.why')] })
  bench.editor('part R2 0805\n')
  await lineWith(page, 'part R2')
  await page.waitForSelector('#parts summary:has-text("3 noted")')
  assert(await page.evaluate(() => globalThis.before.every(element => element.isConnected)), 'an element was made anew')
  same(await page.evaluate(() => document.activeElement.closest('li').id), 'line-3', 'the hand')
  bench.editor('strike 3\n')
  await page.waitForSelector('#line-3.struck')
  assert(await page.$('#line-3 details[open]'), 'the line was shut')
})

await story('the newest note stands at the hand, unless somebody reads further up', teardown(Array.from({ length: 400 }, (_, i) => `part R${i + 1} 0805`)), async ({ bench, page }) => {
  const inSight = line => page.waitForFunction(id => {
    const item = document.getElementById(`line-${id}`)?.getBoundingClientRect()
    const list = document.getElementById('notes').getBoundingClientRect()
    return item && item.top >= list.top - 1 && item.bottom <= list.bottom + 1
  }, line)
  await inSight(400)
  await write(page, 'part C1 0805')
  await inSight(401)
  await page.evaluate(() => document.getElementById('line-200').scrollIntoView())
  await inSight(200)
  bench.editor('part C2 0805\n')
  await page.waitForSelector('#line-402', { state: 'attached' })
  await page.waitForTimeout(200)
  await inSight(200)
  await page.evaluate(() => document.getElementById('earlier').scrollIntoView())
  await page.click('#earlier button')
  await page.waitForSelector('#line-1', { state: 'attached' })
  await write(page, 'part C3 0805')
  await page.waitForSelector('#line-403', { state: 'attached' })
  same(await page.$$eval('#notes li', list => list.length), 403, 'lines')
})

await story('two people at one bench lose no line', teardown(), async ({ bench, server, page }) => {
  const other = await openPage(browser, server.url)
  const lines = who => Array.from({ length: 8 }, (_, i) => `ask "${who} ${i}"`)
  const post = (at, list) => at.evaluate(async notes => { for (const body of notes) await fetch('add', { method: 'POST', body }) }, list)
  await Promise.all([post(page, lines('one')), post(other, lines('two'))])
  for (const note of [...lines('one'), ...lines('two')]) {
    assert(bench.notes().includes(`${note}\n`), `${note} is lost`)
    await lineWith(page, note)
    await lineWith(other, note)
  }
  same(bench.notes().split('\n').length, 17, 'lines')
  none(other.heard, 'console of the other')
  await other.context().close()
})

await check('a server killed and started again goes on where it was, and the page finds back by itself', async () => {
  const bench = teardown()
  let server = await serve(bench.folder)
  const page = await openPage(browser, server.url)
  await write(page, 'part R1 0805')
  await server.kill()
  await page.waitForFunction(() => /not running/.test(document.getElementById('state').textContent))
  await page.fill('#line', 'part R2 0805')
  await page.press('#line', 'Enter')
  await page.waitForSelector('#check.wrong')
  same(await page.inputValue('#line'), 'part R2 0805', 'what was typed')
  bench.editor('part R3 0805\n')
  const url = server.url
  server = await serve(bench.folder)
  same(server.url, url, 'address')
  await lineWith(page, 'part R3')
  await write(page, 'part R2 0805')
  assert(bench.notes().endsWith('part R1 0805\npart R3 0805\npart R2 0805\n'), bench.notes())
  await page.context().close()
  await server.kill()
})

// ---- photos

await story('a photo is added, lies on the table and is noted', teardown(['board A 46.5 x 21.0 mm']), async ({ bench, page }) => {
  await page.waitForFunction(() => document.querySelectorAll('#shows option').length === 3)
  await page.setInputFiles('#files', { name: 'closed lid.jpg', mimeType: 'image/jpeg', buffer: photo })
  await lineWith(page, 'photo "closed lid.jpg"')
  await page.waitForFunction(() => [...document.querySelectorAll('#tiles img')].some(image => image.complete && image.naturalWidth > 0))
  same(Buffer.compare(readFileSync(join(bench.folder, 'photos/closed lid.jpg')), photo), 0, 'bytes kept')
  await page.setInputFiles('#files', { name: 'closed lid.jpg', mimeType: 'image/jpeg', buffer: photo })
  await lineWith(page, 'closed lid-2.jpg')
})

await story('what is no photo is refused, and nothing of it is kept', teardown(), async ({ bench, page }) => {
  for (const [name, buffer] of [['a.jpg', Buffer.from('<script>alert(1)</script>')], ['b.png', photo.subarray(0, 5000)]])
    await page.setInputFiles('#files', { name, mimeType: 'image/jpeg', buffer })
  await page.waitForFunction(() => /b\.png/.test(document.getElementById('saying').textContent))
  same(readdirSync(join(bench.folder, 'photos')).length, 0, 'files')
  same(bench.notes(), '')
}, { quiet: false })

await story('a board is named, sized and straightened by four clicks on its photo', teardown(), async ({ bench, page }) => {
  await page.setInputFiles('#files', { name: 'a.jpg', mimeType: 'image/jpeg', buffer: photo })
  await page.waitForSelector('[data-deed=corners]')
  await page.waitForSelector('#tiles img')
  await page.click('[data-deed=corners]')
  await page.fill('#corner-size', '46.5 x 21 mm')
  const transform = /translate\((\S+) (\S+)\) scale\((\S+)\)/.exec(await page.getAttribute('#world', 'transform')).slice(1).map(Number)
  const box = await (await page.$('#mat')).boundingBox()
  for (const [x, y] of [[388, 483], [1492, 477], [1504, 980], [378, 983]]) // as the demo's notes have them
    await page.mouse.click(box.x + transform[0] + x * transform[2], box.y + transform[1] + y * transform[2])
  await lineWith(page, 'corners')
  const [size, corners] = bench.notes().trim().split('\n').slice(-2)
  same(size, 'board A 46.5 x 21 mm')
  assert(/^photo A bottom a\.jpg corners( \d+,\d+){4}$/.test(corners), corners)
  await page.waitForFunction(() => document.getElementById('picture').selectedOptions[0]?.text === 'Board A, bottom', null, { timeout: 4 * PATIENCE })
  await page.waitForSelector('.copper path', { state: 'attached', timeout: 4 * PATIENCE })
  await page.click('#back')
  await page.waitForSelector('li.struck:has-text("corners")')
})

await story('a callout on a photo is one click and a few words', teardown(), async ({ bench, page }) => {
  await page.setInputFiles('#files', { name: 'a.jpg', mimeType: 'image/jpeg', buffer: photo })
  await page.waitForSelector('#tiles img')
  await page.click('[data-deed=spot]')
  await page.click('#mat')
  await page.keyboard.type('snap here first') // in place of the `?`, which is chosen already
  await page.press('#line', 'Escape')
  await page.press('#line', 'Enter')
  await lineWith(page, 'snap here first')
  assert(/mark a\.jpg at \d+,\d+ "snap here first"\n$/.test(bench.notes()), bench.notes())
})

// ---- safe

await check('a wrong Host, another origin, a missing key, paths and sizes get nowhere', async () => {
  const bench = teardown(['ask "secret"'])
  const server = await serve(bench.folder)
  const own = { Host: new URL(server.url).host, Origin: server.origin }
  same((await raw(`${server.url}notes`, { headers: { Host: 'evil.example' } })).status, 421, 'Host')
  same((await raw(`${server.url}add`, { method: 'POST', body: 'part R1', headers: { ...own, Origin: 'http://evil.example' } })).status, 403, 'Origin')
  same((await raw(`${server.url}add`, { method: 'POST', body: 'part R1', headers: { Host: own.Host } })).status, 403, 'no Origin')
  same((await raw(`${server.origin}/notes`, { headers: { Host: own.Host, Cookie: 'session=stolen' } })).status, 403, 'cookie')
  for (const path of ['../notes.txt', '..%2Fnotes.txt', '%2e%2e/notes.txt', 'web/..%2f..%2fnotes.txt', 'photos/..%2Fnotes.txt', 'notes%00.txt'])
    assert([403, 404].includes((await raw(`${server.url}${path}`, { headers: own })).status) , path)
  const announced = await raw(`${server.url}add`, { method: 'POST', headers: { ...own, 'Content-Length': String(10 * 2 ** 30) } }).catch(() => ({ status: 413 }))
  same(announced.status, 413, '10 GB announced')
  const page = await raw(server.url, { headers: own })
  assert(!('set-cookie' in page.headers), 'there is a cookie')
  assert(!/unsafe-inline|unsafe-eval|\*/.test(page.headers['content-security-policy']), page.headers['content-security-policy'])
  same(bench.notes(), 'ask "secret"\n')
  await server.kill()
})

await check('beyond this machine it listens only when told to, and says so loudly', async () => {
  const bench = teardown()
  const server = await serve(bench.folder, { options: ['--listen', '0.0.0.0'] })
  assert(/ATTENTION: .*network.*unencrypted/.test(server.said()), server.said())
  await server.kill()
  const quiet = await serve(bench.folder)
  assert(!/ATTENTION/.test(quiet.said()), quiet.said())
  await quiet.kill()
})

await check('10 GB sent without being announced are cut', async () => {
  const bench = teardown()
  const server = await serve(bench.folder)
  const { port, pathname } = new URL(server.url)
  const sent = await new Promise(resolve => {
    const asked = request({ host: '127.0.0.1', port, path: `${pathname}add`, method: 'POST', headers: { Host: `127.0.0.1:${port}`, Origin: `http://127.0.0.1:${port}` } })
    const chunk = Buffer.alloc(1 << 16, 'x')
    let bytes = 0
    const end = () => resolve(bytes)
    const more = () => { while (bytes < 10 * 2 ** 30 && asked.write(chunk)) bytes += chunk.length }
    asked.on('error', end)
    asked.on('close', end)
    asked.on('drain', more)
    more()
  })
  assert(sent < 64 * 2 ** 20, `${sent} bytes were taken`)
  same(bench.notes(), '')
  await server.kill()
})

await story('a page of another origin can neither read nor write', teardown(), async ({ bench, server, page }) => {
  const stranger = await openPage(browser, 'data:text/html,stranger')
  const got = await stranger.evaluate(async url => {
    const tries = [fetch(`${url}notes`), fetch(`${url}add`, { method: 'POST', body: 'part R1' }).then(answer => answer.text())]
    return (await Promise.allSettled(tries)).map(({ status }) => status)
  }, server.url)
  same(got.join(), 'rejected,rejected')
  same(bench.notes(), '')
  await stranger.context().close()
})

// ---- the phone

await check('a phone adds photos by an address that opens once, and can do nothing else', async () => {
  const bench = teardown(['board A 46.5 x 21.0 mm'])
  let server
  try {
    server = await serve(bench.folder, { options: ['--phone'] })
  } catch (error) {
    if (/no phone can reach/.test(error.message)) return console.log('# no network here: the phone stays untested')
    throw error
  }
  const once = /On a phone, once: +(\S+)/.exec(server.said())[1]
  const first = await fetch(once, { redirect: 'manual' })
  same(first.status, 303)
  const phone = new URL(first.headers.get('location'), once).href
  same((await fetch(once)).status, 403, 'the second time')
  assert((await (await fetch(phone)).text()).includes('Take a picture'), 'no page')
  const origin = new URL(phone).origin
  for (const path of ['notes', 'findings', 'live', 'boards', 'why']) same((await fetch(phone + path)).status, 404, path)
  same((await fetch(`${phone}add`, { method: 'POST', body: 'part R1', headers: { Origin: origin } })).status, 404, 'add')
  const answer = await fetch(`${phone}photo?name=phone.jpg&shows=A top`, { method: 'POST', body: photo, headers: { Origin: origin } })
  same(answer.status, 200)
  same(bench.notes().split('\n')[1], 'photo A top phone.jpg')
  await server.kill()
})

// ---- the demo, its board on the table

const whole = demo()
const table = await serve(whole.folder)
for (const [name, options] of [['a bench of 1280', {}], ['a telephone', { viewport: { width: 360, height: 740 } }], ['4K', { viewport: { width: 3840, height: 2160 } }], ['the dark', { colorScheme: 'dark' }]])
  await check(`the demo is at hand in ${name}: no complaints, nothing too wide, accessible in every place`, async () => {
    const page = await openPage(browser, table.url, options)
    await page.waitForSelector('#tiles img', { state: 'attached' })
    for (const place of ['findings', 'table', 'notebook']) {
      await page.evaluate(to => document.querySelector(`[data-go=${to}]`).click(), place)
      const width = page.viewportSize().width
      const wide = await page.evaluate(() => document.documentElement.scrollWidth)
      assert(wide <= width, `${place} is ${wide} px wide on ${width}`)
      none(await accessibility(page), place)
      const small = await page.$$eval('button, select, summary, .pick', list => list.filter(item => item.offsetParent && item.getBoundingClientRect().height < 44 && !item.matches('.to-line')).map(item => item.outerHTML.slice(0, 80)))
      none(small, `less than 44 px high in ${place}`)
    }
    if (process.env.SHOTS) await page.screenshot({ path: join(process.env.SHOTS, `${name.replaceAll(' ', '-')}.png`) })
    none(page.heard, 'console')
    await page.context().close()
  })

await check('the first view is one page and one script', async () => {
  const page = await openPage(browser, table.url)
  await page.waitForSelector('#tiles img', { state: 'attached' })
  const before = await page.evaluate(() => {
    const { startTime } = performance.getEntriesByName('first-contentful-paint')[0]
    return performance.getEntriesByType('resource').filter(asked => asked.startTime < startTime && asked.renderBlockingStatus === 'blocking').map(({ name }) => name)
  })
  none(before, 'what has to be there before anything shows')
  none(page.asked.filter(url => /\.(css|js)$/.test(url) && !/web\/bench\.js$/.test(url)), 'asked for besides')
  await page.context().close()
})

await check('a click on copper lights its net and names its pins', async () => {
  const page = await openPage(browser, table.url)
  await page.waitForSelector('.copper path', { state: 'attached' })
  await page.waitForTimeout(300)
  const pad = await page.$('.pads circle[data-pin="U1.5"]')
  const box = await pad.boundingBox()
  await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2)
  await page.waitForSelector('.copper path.lit', { state: 'attached' })
  assert((await page.textContent('#saying')).includes('U1.5'), await page.textContent('#saying'))
  await page.context().close()
})

await check('a distance is measured in millimetres', async () => {
  const page = await openPage(browser, table.url)
  await page.waitForSelector('.pads circle', { state: 'attached' })
  await page.click('[data-deed=measure]')
  for (const pin of ['U1.1', 'U1.8']) {
    const box = await (await page.$(`.pads circle[data-pin="${pin}"]`)).boundingBox()
    await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2)
  }
  const measured = parseFloat(await page.textContent('#saying'))
  assert(Math.abs(measured - 7 * 1.27) < 0.3, `${measured} mm from pin 1 to pin 8 of an SOP-16, pitch 1.27 mm`)
  await page.context().close()
})

// ---- hands at the table

/* The demo on its own, its board laid, and where its pins are on the screen. */
const atTable = (name, tell) => story(name, demo(whole), async ({ bench, page, ...rest }) => {
  await page.waitForSelector('.pads circle', { state: 'attached' })
  const before = bench.notes()
  const pin = async (label, dx = 0, dy = 0) => {
    const box = await (await page.$(`.pads circle[data-pin="${label}"]`)).boundingBox()
    return [box.x + box.width / 2 + dx, box.y + box.height / 2 + dy]
  }
  await tell({ bench, page, pin, added: () => bench.notes().slice(before.length).trim(), ...rest })
})
const written = page => page.waitForFunction(() => /^(Line|In line) \d+/.test(document.getElementById('saying').textContent))

await atTable('a part is placed by its package and two clicks that snap to copper', async ({ bench, page, pin, added }) => {
  await page.click('[data-deed=place]')
  await page.fill('#place-ref', 'U9')
  await page.focus('#place-what')
  await page.keyboard.type('SOP-1')
  await page.waitForSelector('#place-offers li:has-text("SOP-16")')
  await page.fill('#place-what', 'SOP-16')
  await page.waitForFunction(() => document.querySelectorAll('#place-drawn circle').length === 16)
  assert(/SOP-16, 16 pins/.test(await page.getAttribute('#place-drawn', 'aria-label')), 'the outline is not named')
  await page.mouse.click(...await pin('U1.1', 5, 4))
  await page.waitForFunction(() => /pin 9/.test(document.getElementById('saying').textContent))
  await page.mouse.move(...await pin('U1.9', -5, 3))
  await page.waitForSelector('.hand .snapped', { state: 'attached' }) // before it is set
  same(await page.$$eval('.hand .pin, .hand .end', list => list.length), 16, 'pins of the preview')
  await page.mouse.click(...await pin('U1.9', -5, 3))
  await written(page)
  const [, x1, y1, x9, y9] = /^part U9 SOP-16 on A bottom pin 1 at ([\d.]+),([\d.]+) pin 9 at ([\d.]+),([\d.]+)$/.exec(added()) ?? [added()]
  // the demo has U1 there: an SOP-16 at 21.2,9.8, seen from the bottom
  assert(Math.hypot(x1 - 23.8, y1 - 5.36) < 0.3 && Math.hypot(x9 - 18.6, y9 - 14.25) < 0.3, added())
  same(await page.inputValue('#place-ref'), 'U10', 'the next one')
  await page.waitForSelector('.parts [data-ref=U9]', { state: 'attached' })
  await page.click('#back')
  await page.waitForSelector('li.struck')
  assert(bench.notes().endsWith('"undone"\n'), bench.notes().slice(-60))
})

await atTable('two clicks that can’t be a part’s pins are not written down unless it is meant', async ({ page, pin, added }) => {
  await page.click('[data-deed=place]')
  await page.fill('#place-ref', 'R20')
  await page.fill('#place-what', '0805 10k')
  await page.waitForFunction(() => document.querySelectorAll('#place-drawn circle').length === 2)
  await page.mouse.click(...await pin('U1.1'))
  await page.mouse.click(...await pin('U1.8'))
  await page.waitForSelector('.hand.wrong', { state: 'attached' })
  assert(/mm apart here, but 1\.\d+ mm on 0805/.test(await page.textContent('#saying')), await page.textContent('#saying'))
  same(added(), '')
  await page.click('#done')
  await written(page)
  assert(added().startsWith('part R20 0805 10k on A bottom pin 1 at '), added())
})

await atTable('a join by the meter is two clicks; S lets them fall where they are', async ({ page, pin, added }) => {
  await page.selectOption('#told-by', 'meter')
  await page.click('[data-deed=join]')
  await page.mouse.click(...await pin('R5.1', 6, 0))
  await page.mouse.click(...await pin('R5.2', 6, 0))
  await written(page)
  assert(/^join [\d.]+,[\d.]+ [\d.]+,[\d.]+ on A bottom by meter$/.test(added()), added())
  const snapped = added()
  const said = (await page.textContent('#saying')).split(':')[0]
  await page.focus('#mat')
  await page.keyboard.press('s')
  await page.mouse.click(...await pin('R5.1', 6, 0))
  await page.mouse.click(...await pin('R5.2', 6, 0))
  await page.waitForFunction(before => /^Line/.test(document.getElementById('saying').textContent) && !document.getElementById('saying').textContent.startsWith(before), said)
  assert(added().split('\n')[1] !== snapped, 'it snapped all the same')
})

await atTable('what can’t be seen has as many corners as it wants', async ({ page, added }) => {
  const box = await (await page.$('#mat')).boundingBox()
  await page.click('[data-deed=hidden]')
  const corners = [[0.4, 0.4], [0.5, 0.38], [0.6, 0.5], [0.5, 0.6], [0.42, 0.58]]
  for (const [x, y] of corners) await page.mouse.click(box.x + x * box.width, box.y + y * box.height)
  await page.focus('#mat')
  await page.keyboard.press('Backspace')
  await page.mouse.click(box.x + 0.38 * box.width, box.y + 0.55 * box.height)
  await page.mouse.click(box.x + 0.4 * box.width + 3, box.y + 0.4 * box.height + 3) // the first again
  await written(page)
  assert(/^hidden A bottom( [\d.]+,[\d.]+){5}$/.test(added()), added())
  await page.waitForSelector('.shapes .hidden', { state: 'attached' })
})

await atTable('a net lights up in copper, schematic, findings and notebook at once', async ({ page, pin }) => {
  await page.click('#numbers summary')
  await page.mouse.click(...await pin('R1.2'))
  await page.waitForSelector('.copper path.lit', { state: 'attached' })
  same(await page.$$eval('.pads circle.lit', list => list.map(dot => dot.dataset.pin).sort().join(' ')), 'Q1.B R1.2 R9.1')
  assert(await page.$('#notes li.lit:has-text("join R1.2 Q1.B R9.1")'), 'the note that joins it is dark')
  assert(!await page.$('#notes li.lit:has-text("part R1")'), 'a note lights up that says nothing of the net')
  await page.waitForSelector('#known .claim .touched', { state: 'attached' })
  await page.waitForSelector('#numbers tr.touched', { state: 'attached' })
  await page.selectOption('#picture', 'schematic')
  await page.waitForSelector('.paper .lit', { state: 'attached' })
  same(await page.$$eval('.paper .lit', list => [...new Set(list.map(wire => wire.dataset.net))].join()), 'R1.2')
  const sign = await (await page.$('.paper .supply[data-net="VDD"] text')).boundingBox()
  await page.mouse.click(sign.x + sign.width / 2, sign.y + sign.height / 2)
  await page.waitForFunction(() => /^VDD: /.test(document.getElementById('saying').textContent))
})

await atTable('evidence lights the photo and the notes, and what differs stands beside the figures', async ({ page }) => {
  const claim = await page.$('.claim button[data-parts~="Q1"]')
  await claim.click()
  await page.waitForSelector('.parts [data-ref=Q1].about', { state: 'attached' })
  assert(await page.$('#notes li.lit'), 'no line is lit')
  await page.waitForSelector('.why .to-line')
  const line = await page.$$eval('.why .to-line', list => list.map(button => button.dataset.toLine).find(n => /Q1/.test(document.querySelector(`#line-${n} summary code`)?.textContent)))
  await page.click(`.why .to-line[data-to-line="${line}"]`)
  await page.waitForSelector('.parts .about, .pads .about', { state: 'attached' })
  await page.click('#numbers summary')
  await page.waitForSelector('#numbers .read.off')
  assert((await page.textContent('#numbers')).includes('38 uA'), 'the reading that differs is not beside its figure')
  await write(page, 'read v(VDD) = 5.9 V in sensing by meter')
  await page.waitForSelector('#numbers .read:has-text("5.9 V")') // it is open, and live
})

await atTable('the circuit is drawn in blocks, each of which leads to its claim', async ({ page }) => {
  await page.waitForSelector('#blocks-drawn .k-block')
  await page.click('[data-front-of=findings]')
  const block = await page.$('#blocks-drawn .k-block[data-claim]')
  await block.scrollIntoViewIfNeeded()
  await block.click()
  await page.waitForSelector('.why')
  await page.selectOption('#picture', 'blocks')
  await page.waitForSelector('.paper .k-block', { state: 'attached' })
  none(await accessibility(page), 'accessibility')
})

await atTable('a part is placed with the keyboard alone', async ({ page, added }) => {
  await page.focus('[data-deed=place]')
  await page.keyboard.press('Enter')
  await page.focus('#place-ref')
  await page.keyboard.type('X9')
  await page.keyboard.press('Escape')
  await page.waitForFunction(() => /X9/.test(document.getElementById('saying').textContent))
  await page.focus('#mat')
  await page.keyboard.press('Enter')
  await page.waitForFunction(() => /Now click pin/.test(document.getElementById('saying').textContent))
  await page.keyboard.press('ArrowLeft')
  await page.keyboard.press('Enter')
  await written(page)
  assert(/^part X9 on A (top|bottom) pin \S+ at [\d.]+,[\d.]+ pin \S+ at [\d.]+,[\d.]+$/.test(added()), added())
})

await check('a doubt is answered by one key', async () => {
  const page = await openPage(browser, table.url)
  await page.waitForSelector('#doubt:not([hidden])')
  const before = whole.notes()
  await page.focus('#mat')
  await page.keyboard.press('a')
  await page.waitForFunction(() => /Written down/.test(document.getElementById('check').textContent))
  const added = whole.notes().slice(before.length)
  assert(/^(apart [\d.]+,[\d.]+ [\d.]+,[\d.]+ on A bottom|hole A at \S+ bare) by eye\n$/.test(added), added)
  await page.context().close()
})

await check('the schematic lies on the table too, and its parts lead to what is claimed of them', async () => {
  const page = await openPage(browser, table.url)
  await page.waitForSelector('#picture option:has-text("Schematic")', { state: 'attached' })
  await page.selectOption('#picture', 'schematic')
  await page.waitForSelector('.paper [data-ref="Q1"]', { state: 'attached' })
  await page.evaluate(() => document.querySelector('.paper [data-ref="Q1"]').scrollIntoView())
  const box = await (await page.$('.paper [data-ref="Q1"] .body *')).boundingBox()
  await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2)
  await page.waitForSelector('.why')
  assert(await page.$eval('.claim button.on', button => button.dataset.parts.split(' ').includes('Q1')), 'another part')
  none(page.heard, 'console')
  await page.context().close()
})

await check('the table works with the keyboard alone', async () => {
  const page = await openPage(browser, table.url)
  await page.waitForSelector('.copper path', { state: 'attached' })
  await page.focus('#mat')
  const where = () => page.getAttribute('#world', 'transform')
  const before = await where()
  for (const key of ['+', 'ArrowLeft', 'ArrowDown', '-']) await page.keyboard.press(key)
  assert((await where()) !== before, 'nothing moved')
  await page.keyboard.press('0')
  same(await where(), before)
  await page.context().close()
})
await table.kill()
await browser.close()
done()
process.exit() // whatever a story that failed left running
