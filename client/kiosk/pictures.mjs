// Takes the README's pictures of the page again, from a server with a fresh demonstration shop at ARRIS_URL: node pictures.mjs. Where Debian's
// pngquant is, it makes them small.
import { spawnSync } from 'node:child_process'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { at, opened, phone, tablet } from './test/browser.mjs'

const folder = join(dirname(fileURLToPath(import.meta.url)), '../../deploy/pictures')
const pictures = [
  ['kiosk-step', tablet, '#/set-up/north/3?tool=bowl-gouge-12'],
  ['kiosk-edge', tablet, '#/set-up/north/see?tool=bowl-gouge-12'],
  ['kiosk-find', phone, '#/'],
]

for (const [name, viewport, hash] of pictures) {
  const path = join(folder, `${name}.png`)
  await opened({ viewport }, async (page) => {
    await at(page, hash)
    if (name === 'kiosk-edge') await page.locator('canvas').first().waitFor()
    await page.waitForTimeout(1500) // for what is still turning into place
    await page.screenshot({ path })
  })
  spawnSync('pngquant', ['--force', '--skip-if-larger', '--output', path, '64', path])
}
