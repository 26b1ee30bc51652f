// Draws mark.svg again as the PNG files that devices want: node icons/draw.mjs
import { readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { chromium } from 'playwright-core'

const here = dirname(fileURLToPath(import.meta.url))
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] })
const mark = readFileSync(join(here, 'mark.svg'), 'utf8')
// Where a device cuts icons round, what matters stays within the middle four fifths (W3C Web App Manifest, 2.10.3).
const round = mark.replace('0 0 512 512', '0 -60 592 592')
for (const [name, size, drawing] of [['mark-192', 192, mark], ['mark-512', 512, mark], ['mark-round-512', 512, round]]) {
  const page = await browser.newPage({ viewport: { width: size, height: size } })
  await page.setContent(`<style>body{margin:0;background:#0b5a66}svg{display:block;width:${size}px;height:${size}px}</style>${drawing}`)
  await page.screenshot({ path: join(here, `${name}.png`) })
}
await browser.close()
