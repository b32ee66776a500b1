// The show in headless Chromium: show.mjs FILE.html ...
import { readFileSync } from 'node:fs'
import { basename, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { accessibility, openBrowser, openPage } from './browser.mjs'
import { htmlProblems } from './html.mjs'
import { check, done, none } from './tap.mjs'

const shown = page => page.evaluate(() => [...document.querySelectorAll('.screen')].findIndex(screen => screen.checkVisibility()) + 1)
const screensShown = page => page.evaluate(() => [...document.querySelectorAll('.screen')].filter(screen => screen.checkVisibility()).length)
const said = page => page.evaluate(() => [...document.querySelectorAll('.screen.now .callouts li')].findIndex(li => li.classList.contains('now')) + 1)
const same = (value, expected, what) => {
  if (value !== expected) throw new Error(`${what}: ${value}, expected ${expected}`)
}

const browser = await openBrowser()
for (const file of process.argv.slice(2)) {
  const name = basename(file)
  const url = pathToFileURL(resolve(file)).href
  await check(`${name}: valid HTML`, async () => none(await htmlProblems(readFileSync(file, 'utf8')), 'invalid'))
  for (const colorScheme of ['light', 'dark']) {
    await check(`${name}: every screen in ${colorScheme} asks for nothing, complains of nothing, shuts nobody out`, async () => {
      const page = await openPage(browser, url, { colorScheme })
      const count = await page.evaluate(() => document.querySelectorAll('.screen').length)
      for (let i = 1; i <= count; i++) {
        same(await shown(page), i, 'screen')
        same(await screensShown(page), 1, 'screens in sight')
        none(await accessibility(page), `accessibility of screen ${i}`)
        if (i < count) while ((await shown(page)) === i) await page.keyboard.press('ArrowRight')
      }
      none(page.heard, 'console')
      none(page.asked, 'requests')
      await page.context().close()
    })
  }
  await check(`${name}: keys and buttons step forth and back, a callout at a time`, async () => {
    const page = await openPage(browser, url)
    const steps = await page.evaluate(() => document.querySelectorAll('.screen').length + document.querySelectorAll('.callouts li').length)
    const seen = []
    for (let i = 0; i < steps; i++) {
      seen.push(`${await shown(page)}.${await said(page)}`)
      await page.keyboard.press(['ArrowRight', 'PageDown', ' '][i % 3])
    }
    same(new Set(seen).size, steps, 'places that the keys came to')
    same(`${await shown(page)}.${await said(page)}`, seen.at(-1), 'at the end it stays')
    for (const place of seen.toReversed()) {
      same(`${await shown(page)}.${await said(page)}`, place, 'back')
      await page.keyboard.press('ArrowLeft')
    }
    await page.getByRole('button', { name: 'Next' }).click()
    same(`${await shown(page)}.${await said(page)}`, seen[1], 'button')
    await page.keyboard.press('Home')
    same(await shown(page), 1, 'Home')
    await page.context().close()
  })
  await check(`${name}: without its script all screens stand below each other`, async () => {
    const page = await openPage(browser, url, { javaScriptEnabled: false })
    same(await page.locator('.screen:visible').count(), await page.locator('.screen').count(), 'screens in sight')
    same(await page.locator('.turn').count(), 0, 'dead buttons')
    await page.context().close()
  })
  await check(`${name}: letters are read from across a room`, async () => {
    // a 36th of the picture's height: rule of thumb of those who make slides, a row of whom sits eight heights away
    const page = await openPage(browser, url, { viewport: { width: 1920, height: 1080 } })
    const small = await page.evaluate(() => [...document.querySelectorAll('.says, .points li, .callouts li, h1, h2')].filter(element => !element.closest('.cues'))
      .filter(element => parseFloat(getComputedStyle(element).fontSize) < 1080 / 36).map(element => element.textContent.slice(0, 40)))
    none(small, 'too small')
    await page.context().close()
  })
  await check(`${name}: nothing is wider than a telephone or a projector`, async () => {
    for (const viewport of [{ width: 360, height: 740 }, { width: 1024, height: 768 }]) {
      const page = await openPage(browser, url, { viewport })
      const count = await page.evaluate(() => document.querySelectorAll('.screen').length)
      for (let i = 1; i <= count; i++) {
        const wide = await page.evaluate(() => document.documentElement.scrollWidth)
        if (wide > viewport.width) throw new Error(`screen ${i} is ${wide} px wide on ${viewport.width}`)
        while ((await shown(page)) === i && i < count) await page.keyboard.press('ArrowRight')
      }
      await page.context().close()
    }
  })
  for (const [paper, width] of [['A4', 180], ['Letter', 185.9]]) {
    await check(`${name}: on ${paper} it is the cue sheet, whole`, async () => {
      const page = await openPage(browser, url, { viewport: { width: Math.floor(width * 96 / 25.4), height: 900 } })
      await page.emulateMedia({ media: 'print' })
      same(await screensShown(page), 0, 'screens on paper')
      same(await page.locator('.cues tbody tr:visible').count(), await page.locator('.screen').count(), 'cues')
      const times = await page.locator('.cues tbody td:last-child').allTextContents()
      const seconds = times.map(time => time.split(':').reduce((sum, part) => 60 * sum + Number(part), 0))
      if (seconds.some((time, i) => !(time > (seconds[i - 1] ?? 0)))) throw new Error(`times do not add up: ${times}`)
      const wide = await page.evaluate(() => document.documentElement.scrollWidth)
      if (wide > Math.floor(width * 96 / 25.4)) throw new Error(`it is ${wide} px wide`)
      await page.context().close()
    })
  }
  await check(`${name}: nothing of the notes runs`, async () => {
    const page = await openPage(browser, 'about:blank')
    let spoke = 0
    page.on('dialog', dialog => (spoke++, dialog.dismiss()))
    await page.goto(url)
    if (spoke > 0 || (await page.evaluate(() => document.querySelectorAll('script').length)) !== 1) throw new Error('a script ran')
    await page.context().close()
  })
}
await browser.close()
done()
