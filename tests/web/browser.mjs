// A page in headless Chromium (Debian's, driven by playwright-core), watched: what it asks of the network, what it complains of,
// and what axe-core finds. For the tests of every page that the program writes or serves.
import { chromium } from 'playwright-core'
import { createRequire } from 'node:module'
import { readFileSync } from 'node:fs'

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

/* One browser for a whole run. It reaches no network: a host that must be reached is this machine. */
export const openBrowser = () =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-dev-shm-usage', '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost'],
  })

/* Opens `url`; page.heard lists console errors and uncaught exceptions, page.asked every request besides the page itself. */
export async function openPage(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, bypassCSP: false, ...options })
  const page = await context.newPage()
  page.heard = []
  page.asked = []
  page.on('console', message => message.type() === 'error' && page.heard.push(message.text()))
  page.on('pageerror', error => page.heard.push(String(error)))
  page.on('request', request => {
    if (request.url() !== url && !request.url().startsWith('data:')) page.asked.push(request.url())
  })
  await page.goto(url, { waitUntil: 'load' })
  return page
}

/* What axe-core holds against the page, one line each, of at least these impacts. */
export async function accessibility(page, impacts = ['serious', 'critical']) {
  await page.evaluate(axeSource)
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ['violations'] }))
  return violations
    .filter(({ impact }) => impacts.includes(impact))
    .map(({ id, help, nodes }) => `${id}: ${help}: ${nodes.slice(0, 3).map(({ target }) => target.join(' ')).join('; ')} (${nodes.length})`)
}
