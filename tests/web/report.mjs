// A report in headless Chromium: report.mjs FILE.html ...
import { readFileSync } from 'node:fs'
import { basename, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'
import { accessibility, openBrowser, openPage } from './browser.mjs'
import { htmlProblems } from './html.mjs'
import { check, done, none } from './tap.mjs'

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
