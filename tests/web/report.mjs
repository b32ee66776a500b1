// A report in headless Chromium: report.mjs FILE.html ...
import { readFileSync } from 'node:fs'
import { basename, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { accessibility, openBrowser, openPage } from './browser.mjs'
import { htmlProblems } from './html.mjs'
import { check, done, none } from './tap.mjs'

const MM = 96 / 25.4 // CSS pixels

/* What is wider than the page, or, being a picture, higher. */
const wider = ([width, height]) =>
  [...document.querySelectorAll('table, img, svg, figure, pre')]
    .map(element => ({ element, box: element.getBoundingClientRect() }))
    .filter(({ element, box }) => box.right > width + 1 || (/^(img|svg)$/i.test(element.tagName) && box.height > height))
    .map(({ element, box }) => `${element.tagName} ${element.id}: to ${Math.round(box.right)}, ${Math.round(box.height)} high`)

const browser = await openBrowser()
for (const file of process.argv.slice(2)) {
  const name = basename(file)
  const url = pathToFileURL(resolve(file)).href
  await check(`${name}: valid HTML`, async () => none(await htmlProblems(readFileSync(file, 'utf8')), 'invalid'))
  for (const colorScheme of ['light', 'dark']) {
    await check(`${name}: opens in ${colorScheme}, asks for nothing and complains of nothing`, async () => {
      const page = await openPage(browser, url, { colorScheme })
      none(page.heard, 'console')
      none(page.asked, 'requests')
      none(await accessibility(page), 'accessibility')
      await page.context().close()
    })
  }
  await check(`${name}: nothing of the notes runs`, async () => {
    const page = await openPage(browser, 'about:blank')
    let spoke = 0
    page.on('dialog', dialog => (spoke++, dialog.dismiss()))
    await page.goto(url)
    await page.evaluate(() => document.querySelectorAll('details').forEach(details => (details.open = true)))
    if (spoke > 0 || (await page.evaluate(() => document.querySelectorAll('script').length)) !== 1) throw new Error('a script ran')
    await page.context().close()
  })
  await check(`${name}: one mode's volts and currents at a time, chosen without a script`, async () => {
    const page = await openPage(browser, url, { javaScriptEnabled: false })
    const modes = await page.locator('.modes input').count()
    for (let i = 0; i < modes; i++) {
      await page.locator(`#mode-${i}`).check()
      const shown = await page.locator('.sheet .volts:visible, .sheet .amps:visible').count()
      const own = await page.locator(`.sheet .m-${i}`).count()
      if (shown !== own || (own === 0) !== (i === modes - 1)) throw new Error(`mode ${i}: ${shown} in sight, ${own} of it`)
    }
    await page.context().close()
  })
  for (const [paper, width, height] of [['A4', 178, 261], ['Letter', 183.9, 243.4]]) {
    await check(`${name}: nothing is cut on ${paper}`, async () => {
      const page = await openPage(browser, url, { viewport: { width: Math.floor(width * MM), height: 900 } })
      await page.emulateMedia({ media: 'print' })
      none(await page.evaluate(wider, [Math.floor(width * MM), height * MM]), 'cut')
      await page.context().close()
    })
  }
  await check(`${name}: fits a telephone`, async () => {
    const page = await openPage(browser, url, { viewport: { width: 360, height: 740 } })
    const wide = await page.evaluate(() => document.documentElement.scrollWidth)
    if (wide > 360) throw new Error(`it is ${wide} px wide on a screen of 360`)
    none(await accessibility(page), 'accessibility')
    await page.context().close()
  })
}
await browser.close()
done()
