// Everything by keyboard alone: from the scan field to a number, on through the steps, a measurement, a lock. The focus is always to be seen.
import { alone, api, at, becomes, holds, opened, same, settled } from './browser.mjs'

export default async function keyboard() {
  await opened({ hasTouch: false }, async (page) => {
    const press = async (key) => {
      await page.keyboard.press(key)
      await settled(page)
    }
    /** to moves the focus on until it is on something that says so. */
    const to = async (words) => {
      for (let n = 0; n < 60; n++) {
        const at = await page.evaluate(() => {
          const e = document.activeElement
          return { words: (e.getAttribute('aria-label') ?? e.labels?.[0]?.textContent ?? e.textContent).trim(), ring: getComputedStyle(e).outlineStyle }
        })
        if (words.test(at.words)) {
          holds(at.ring !== 'none', `no ring around what has the focus: ${at.words}`)
          return
        }
        await page.keyboard.press('Tab')
      }
      throw new Error(`the keyboard does not get to ${words}`)
    }

    await at(page, '#/')
    same(await page.evaluate(() => document.activeElement?.id), 'code', 'the focus at the start')
    await page.keyboard.type('bowl-gouge-12')
    await press('Enter')
    await to(/^South/)
    await press('Enter')
    await to(/^It is right/)
    await press('Enter')
    same(await page.locator('h1').innerText(), 'Stick-out', 'first step')
    await press('ArrowRight')
    await press('ArrowRight')
    same(await page.locator('h1').innerText(), 'Wheel gap', 'third step')
    await press('ArrowLeft')
    same(await page.locator('h1').innerText(), 'Leg angle', 'back again')
    await press('ArrowRight')
    await press('ArrowRight')
    same(await page.locator('h1').innerText(), 'Whole set-up', 'after the last step')

    await to(/^What if/)
    await press('Enter')
    await to(/^Edge angle: more/)
    await press('Enter')
    await press('Space')
    same(await page.locator('.stepper output').first().innerText(), '52.0°', 'two keys later')

    // Digits go to the keypad wherever the focus is.
    await at(page, '#/wheel/west-small')
    await page.keyboard.type('149.2')
    await press('Enter')
    await becomes(async () => (await api('/wheels/west-small')).diameterMm, 149.2, 'measured by keyboard')

    await at(page, '#/station/south')
    await to(/^Lock this station/)
    await press('Enter')
    await to(/^Wheel damaged/)
    await press('Enter')
    await becomes(async () => (await api('/stations/south')).state, 'STATION_STATE_LOCKED', 'locked by keyboard')
    await to(/^What was put right/)
    await page.keyboard.type('New wheel')
    await press('Tab')
    await page.keyboard.type('p.2')
    await press('Tab')
    await press('Space')
    await press('Tab')
    await press('Enter')
    await becomes(async () => (await api('/stations/south')).state, 'STATION_STATE_IN_SERVICE', 'released by keyboard')
  })
}

await alone(import.meta.url, keyboard)
