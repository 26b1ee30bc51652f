// What has to be seen or tapped is on the screen as it comes up, and nothing lies over it: the word to grind before one goes on, the last row of a
// keypad, the keys in the search field, the pictures of the ink test.
import { alone, api, at, holds, opened, phone, same, settled, tablet } from './browser.mjs'

export default async function fits() {
  await grinds()
  await keypad()
  await search()
  await marks()
}

/** seen holds that all of something is on the screen, and comes first where it is. */
async function seen(part, what) {
  const { box, high, wide, covered } = await part.evaluate((e) => {
    const { left, top, right, bottom } = e.getBoundingClientRect(), over = document.elementFromPoint((left + right) / 2, (top + bottom) / 2)
    return { box: { left, top, right, bottom }, high: innerHeight, wide: innerWidth, covered: !over || !(e.contains(over) || over.contains(e)) }
  })
  holds(box.top >= 0 && box.left >= 0 && box.right <= wide + 0.5 && box.bottom <= high + 0.5, `${what} is off the screen: from ${box.top} to ${box.bottom} of ${high}`)
  holds(!covered, `${what} is covered`)
  return box
}

// On the last card of a bevel, wherever another bevel follows, the word to grind it stands beside the key that goes on; on no other card.
async function grinds() {
  const words = { en: 'Grind this bevel now, then go on.', de: 'Diese Fase jetzt schleifen, dann weiter.', es: 'Afilar ahora este bisel y seguir.' }
  const modes = [
    ['en', phone, false], ['de', { width: 360, height: 740 }, true], ['es', { width: 360, height: 740 }, false], ['de', { width: 844, height: 390 }, true], ['en', tablet, false],
  ]
  const jobs = ['skew-25', 'hollowing-gouge-10']
  for (const [language, viewport, large] of modes) {
    await opened({ viewport }, async (page) => {
      await at(page, '#/')
      await page.evaluate((prefs) => localStorage.setItem('arris.prefs', JSON.stringify(prefs)), { language, large })
      await page.reload()
      for (const tool of jobs) {
        const { setup } = await api(':solveSetup', { rig: { station: 'shops/main/stations/north', tool: `shops/main/tools/${tool}` } })
        let told = 0
        for (let n = 1; n < 20; n++) {
          await at(page, `#/set-up/north/${n}?tool=${tool}`)
          if (page.url().includes('/whole')) break
          const word = page.locator('.step').getByText(words[language], { exact: true })
          if ((await word.count()) === 0) continue
          const where = `${tool}, step ${n} (${language}${large ? ', large' : ''}, ${viewport.width}×${viewport.height})`
          const box = await seen(word, `${where}: the word to grind`), next = await seen(page.locator('.step .bottom .primary'), `${where}: the key that goes on`)
          holds(next.top - box.bottom < 130 && box.bottom <= next.bottom, `${where}: the word is not beside the key`)
          told++
        }
        same(told, setup.steps.length - 1, `bevels of ${tool} that are ground before one goes on`)
      }
    })
  }
}

// All keys of every keypad are there at once on a tablet.
async function keypad() {
  const bowl = 'tool=bowl-gouge-12'
  await opened({ viewport: tablet }, async (page) => {
    for (const [screen, first] of [[`#/set-up/north/prove?${bowl}`, 'Protractor'], [`#/set-up/north/stands?${bowl}&step=0`], ['#/wheel/south-white'], ['#/wheel/south-white', 'Strip around the rim']]) {
      await at(page, screen)
      if (first) await page.getByRole('button', { name: first }).click()
      const keys = page.locator('.keypad button')
      holds((await keys.count()) >= 13, `${screen}: ${await keys.count()} keys`)
      for (const key of await keys.all()) await seen(key, `${screen} ${first ?? ''}: ${await key.innerText()}`)
    }
    // What the protractor's number is answered with is there without a search, too.
    await at(page, `#/set-up/north/prove?${bowl}`)
    await page.getByRole('button', { name: 'Protractor' }).click()
    for (const digit of '50') await page.getByRole('button', { name: digit, exact: true }).click()
    await page.getByRole('button', { name: 'It shows that' }).click()
    await settled(page)
    await seen(page.locator('.result .move'), 'the move')
  })
}

// The field that is typed into has room for its keys; what was typed is cleared by one of them, by hand and by keyboard.
async function search() {
  for (const viewport of [tablet, phone]) {
    await opened({ viewport }, async (page) => {
      await at(page, '#/')
      const clear = page.getByRole('button', { name: 'Clear the field' }), field = page.locator('#code')
      same(await clear.count(), 0, 'keys that clear an empty field')
      await field.fill('bowl gouge')
      await settled(page)
      const keys = page.locator('.field button'), boxes = []
      for (const key of await keys.all()) boxes.push(await seen(key, `a key of the field, ${viewport.width} px`))
      same(boxes.length, 2, 'keys of the field')
      holds(boxes[0].right <= boxes[1].left, 'the keys of the field overlap')
      const { room, middle } = await field.evaluate((e) => {
        const { right, top, bottom } = e.getBoundingClientRect()
        return { room: right - parseFloat(getComputedStyle(e).paddingRight), middle: (top + bottom) / 2 }
      })
      for (const x of [room - 6, room - 12]) await page.mouse.click(x, middle) // where a browser puts a key of its own
      same(await field.inputValue(), 'bowl gouge', 'the words after a tap beside the keys')
      holds(room <= boxes[0].left, `what is typed runs under the keys: to ${room}, from ${boxes[0].left}`)
      await clear.click()
      await settled(page)
      same(await field.inputValue(), '', 'what is left of the words')
      await page.getByRole('heading', { name: 'Stations' }).waitFor()
      same(await page.evaluate(() => document.activeElement?.id), 'code', 'where the focus is then')
      await page.keyboard.type('skew')
      await settled(page)
      await page.keyboard.press('Tab')
      same(await page.evaluate(() => document.activeElement?.getAttribute('aria-label')), 'Clear the field', 'the next by keyboard')
      await page.keyboard.press('Enter')
      await settled(page)
      same(await field.inputValue(), '', 'what is left by keyboard')
    })
  }
}

// However many lines their words take, the pictures of the ink test stand on one line.
async function marks() {
  for (const locale of ['en-GB', 'de-DE', 'es-ES']) {
    await opened({ viewport: phone, locale }, async (page) => {
      await at(page, '#/set-up/north/prove?tool=bowl-gouge-12')
      await page.locator('.mark').first().waitFor()
      const tops = await page.locator('.mark .bevel').evaluateAll((all) => all.map((e) => Math.round(e.getBoundingClientRect().top)))
      same(tops.length, 3, 'pictures')
      same(new Set(tops).size, 1, `heights of the pictures in ${locale}: ${tops}`)
    })
  }
}

await alone(import.meta.url, fits)
