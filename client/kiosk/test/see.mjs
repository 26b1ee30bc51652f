// See: numbers on the picture and beside it are the API's; what draws is fetched only when asked for; fingers, mouse and keys turn it; the swing
// goes through the API's poses; without WebGL, with a spoiled solid or a lost picture the two plain views stand in; leaving gives all back.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { api, at, flags, holds, opened, phone, same, tablet } from './browser.mjs'

const gl = [...flags.filter((f) => f !== '--disable-gpu'), '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist', '--js-flags=--expose-gc']
const no3d = [...flags, '--disable-3d-apis']
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const bowl = '#/set-up/north/see?tool=bowl-gouge-12'
const kinds = ['bowl-gouge-12', 'bottom-gouge-12', 'spindle-gouge-10', 'hollowing-gouge-10']
const named = [-100, -50, 0, 50, 100]

const shownDeg = (deg) => (deg === undefined ? 'not reached' : `${new Intl.NumberFormat('en', { minimumFractionDigits: 1, maximumFractionDigits: 1 }).format(Math.abs(deg))}°`)

/** analysed asks the server itself, without what the page asks beside it. */
const analysed = (tool) => api(':analyzeEdge', { rig: { station: 'shops/main/stations/north', tool: `shops/main/tools/${tool}` }, points: 49, include: ['EDGE_PART_POSES'] })

async function seen(page, hash = bowl) {
  await at(page, hash)
  await page.locator('.picture.placed').waitFor({ timeout: 60_000 })
}

const texts = (page, where) => page.locator(where).allTextContents().then((all) => all.map((s) => s.replace(/\s+/g, ' ').trim()))
const press = (page, name) => page.getByRole('button', { name }).click()
const frame = (page) => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))))
/** eye is where the picture is seen from. */
const eye = (page) => page.evaluate(() => document.querySelector('k-see').stage.camera.position.toArray())
const moved = (a, b) => Math.hypot(...a.map((v, i) => v - b[i]))

/** What the page fetches of itself. */
function fetched(page) {
  const names = []
  page.on('response', (r) => {
    if (/\/assets\/.*\.js$/.test(r.url())) names.push(r.url())
  })
  return names
}

async function numbers() {
  await opened({ args: gl, reducedMotion: 'reduce' }, async (page) => {
    for (const tool of kinds) {
      await seen(page, `#/set-up/north/see?tool=${tool}`)
      const { edge } = await analysed(tool)
      const wanted = named.map((n) => shownDeg(edge.points.find((p) => p.alongPercent === n).wedgeAngleDeg))
      same((await texts(page, '.wedges dd')).join(), wanted.join(), `${tool}: numbers beside the picture`)
      same((await texts(page, '.tag strong')).join(), wanted.join(), `${tool}: numbers on the picture`)
      same((await texts(page, '.legend figcaption span')).join(), `keenest ${shownDeg(edge.summary.leastWedgeAngleDeg)},bluntest ${shownDeg(edge.summary.mostWedgeAngleDeg)}`, `${tool}: the scale`)
    }
    // Another edge than the recipe's is asked for as the set-up is.
    await seen(page, `${bowl}&edge=55`)
    const nose = (await texts(page, '.wedges dd'))[2]
    holds(Math.abs(parseFloat(nose) - 55) <= 0.3, `asked for 55°, the nose shows ${nose}`)
  })
}

/** The first visit fetches nothing that draws; the picture fetches it once. */
async function onlyWhenAsked() {
  await opened({ args: gl, reducedMotion: 'reduce' }, async (page) => {
    const names = fetched(page)
    await at(page, '#/')
    await at(page, '#/set-up/north/whole?tool=bowl-gouge-12')
    const before = names.length
    const sizes = await Promise.all([...new Set(names)].map(async (n) => (await (await fetch(n)).text()).length))
    holds(sizes.reduce((a, b) => a + b) < 300_000 && before > 0, `${before} scripts, ${sizes} letters, before anybody looked at the edge`)
    await page.getByRole('link', { name: 'See the edge' }).click()
    await page.locator('.picture.placed').waitFor({ timeout: 60_000 })
    holds(names.slice(before).some((n) => /\/stage-[A-Z0-9]+\.js$/.test(n)), 'what draws is a file of its own')
    await page.goBack()
    await at(page, '#/set-up/north/3?tool=bowl-gouge-12')
    await page.getByRole('link', { name: 'See the edge' }).click()
    await page.locator('.picture.placed').waitFor({ timeout: 60_000 })
  })
}

/** Every way to turn the picture turns it; numbers never lie over one another or outside. */
async function turned() {
  for (const viewport of [tablet, phone]) {
    await opened({ args: gl, viewport, reducedMotion: 'reduce' }, async (page) => {
      await seen(page)
      const picture = page.locator('.picture')
      const changes = async (what, deed) => {
        const before = await eye(page)
        await deed()
        await frame(page)
        holds(moved(before, await eye(page)) > 0.5, `${what} does not move the picture`)
        await apart(page, what)
      }
      for (const name of ['Turn left', 'Turn right', 'Turn up', 'Turn down', 'Nearer', 'Farther', 'From above', 'From the nose', 'From the side']) await changes(name, () => press(page, name))
      await picture.focus()
      for (const key of ['ArrowLeft', 'ArrowRight', 'ArrowUp', 'ArrowDown', '+', '-', 'Home']) await changes(key, () => page.keyboard.press(key))
      const box = await picture.boundingBox(), x = box.x + box.width / 2, y = box.y + box.height / 2
      await changes('the mouse', async () => {
        await page.mouse.move(x, y)
        await page.mouse.down()
        await page.mouse.move(x + 60, y + 20, { steps: 4 })
        await page.mouse.up()
      })
      const finger = await page.context().newCDPSession(page)
      const touch = (type, points) => finger.send('Input.dispatchTouchEvent', { type, touchPoints: points.map(([px, py], id) => ({ x: px, y: py, id })) })
      await changes('a finger', async () => {
        await touch('touchStart', [[x, y]])
        for (const by of [10, 30, 60]) await touch('touchMove', [[x - by, y]])
        await touch('touchEnd', [])
      })
      await changes('two fingers', async () => {
        await touch('touchStart', [[x - 20, y], [x + 20, y]])
        for (const by of [30, 50, 80]) await touch('touchMove', [[x - by, y], [x + by, y]])
        await touch('touchEnd', [])
      })
      same(new URL(page.url()).hash, bowl, 'turning leads nowhere else')
      for (let i = 0; i < 40; i++) {
        await press(page, i % 7 === 6 ? 'Turn up' : i % 11 === 10 ? 'Turn down' : 'Turn left')
        await apart(page, `turn ${i}`)
      }
      await press(page, 'From the nose')
      for (let i = 0; i < 8; i++) await press(page, 'Turn up')
      await page.locator('.tag.behind').first().waitFor() // from below, points behind the steel say so
    })
  }
}

async function apart(page, what) {
  await frame(page)
  const wrong = await page.evaluate(() => {
    const frame = document.querySelector('.picture').getBoundingClientRect()
    const tags = [...document.querySelectorAll('.tag')].map((t) => ({ r: t.getBoundingClientRect(), size: parseFloat(getComputedStyle(t).fontSize), words: t.textContent }))
    const found = []
    tags.forEach((a, i) => {
      if (a.size < 16) found.push(`${a.words} is ${a.size} px high`)
      if (a.r.left < frame.left - 1 || a.r.right > frame.right + 1 || a.r.top < frame.top - 1 || a.r.bottom > frame.bottom + 1) found.push(`${a.words} is outside`)
      for (const b of tags.slice(0, i)) if (a.r.left < b.r.right && b.r.left < a.r.right && a.r.top < b.r.bottom && b.r.top < a.r.bottom) found.push(`${a.words} over ${b.words}`)
    })
    return found
  })
  holds(wrong.length === 0, `after ${what}: ${wrong.join('; ')}`)
}

/** Pose by pose the tool stands as the API says: its own place of the edge is on the wheel. */
async function swings() {
  await opened({ args: gl, reducedMotion: 'reduce' }, async (page) => {
    await seen(page)
    const { edge, basis } = await analysed('bowl-gouge-12')
    await press(page, 'Its swing on the wheel')
    await page.getByText('Pose 25 of 49').waitFor()
    holds(await page.getByRole('button', { name: 'Play' }).isVisible(), 'nothing moves by itself for those who want it still')
    await press(page, 'One pose back')
    await page.locator('.picture').focus()
    await page.keyboard.press('PageDown')
    for (let i = 24; i < edge.points.length; i++) {
      const p = edge.points[i], said = await texts(page, '.pose dd')
      const wanted = [p.wedgeAngleDeg, p.rollDeg, p.yawDeg, p.pitchDeg].map(shownDeg)
      same(said.slice(0, 4).join(), wanted.join(), `pose ${i + 1}`)
      same(said[4], shownDeg(p.contactHeightMm).replace('°', ' mm'), `pose ${i + 1}: height of the contact`)
      same((await texts(page, '.tag strong'))[0], shownDeg(p.wedgeAngleDeg), `pose ${i + 1} on the picture`)
      const place = await page.evaluate((place) => {
        const { tool, places } = document.querySelector('k-see').stage, v = tool.position.clone().set(...places[place].at)
        tool.updateWorldMatrix(true, false)
        return v.applyMatrix4(tool.matrixWorld).toArray()
      }, i)
      const off = Math.max(Math.abs(Math.hypot(place[0], place[1]) - basis.wheelDiameterMm / 2), Math.abs(place[1] - p.contactHeightMm), Math.abs(place[2]))
      holds(off < 1e-3, `pose ${i + 1}: the edge is ${off} mm off the wheel`)
      if (i < edge.points.length - 1) await press(page, 'One pose on')
    }
    holds(await page.getByRole('button', { name: 'One pose on' }).isDisabled(), 'there is nothing beyond the wing’s end')
    await press(page, 'Play') // pose by pose, back from the end
    await page.getByText('Pose 48 of 49').waitFor()
    await press(page, 'Pause')
  })
  await opened({ args: gl }, async (page) => {
    await seen(page)
    await press(page, 'Its swing on the wheel')
    await page.getByRole('button', { name: 'Pause' }).waitFor()
    const pose = () => page.locator('.pose h2').textContent()
    const before = await pose()
    await page.waitForFunction((was) => document.querySelector('.pose h2').textContent !== was, before)
    await press(page, 'Pause')
    const still = await pose()
    await page.waitForTimeout(500)
    same(await pose(), still, 'a swing that is paused')
  })
}

/** What cannot be drawn is told, with both views and the numbers. */
async function plainly() {
  const isPlain = async (page, what) => {
    await page.locator('.plain-edge').waitFor({ timeout: 30_000 })
    same(await page.locator('.plain-edge svg.figure').count(), 2, `${what}: views`)
    same(await page.locator('canvas').count(), 0, `${what}: canvases`)
    const { edge } = await analysed('bowl-gouge-12')
    same((await texts(page, '.wedges dd')).join(), named.map((n) => shownDeg(edge.points.find((p) => p.alongPercent === n).wedgeAngleDeg)).join(), `${what}: numbers`)
  }
  await opened({ args: no3d }, async (page) => {
    await at(page, bowl)
    await isPlain(page, 'without WebGL')
    await page.getByText('draws nothing in three dimensions').waitFor()
  })
  await opened({ args: gl, reducedMotion: 'reduce' }, async (page) => {
    await seen(page)
    await page.evaluate(() => document.querySelector('canvas').getContext('webgl2').getExtension('WEBGL_lose_context').loseContext())
    await isPlain(page, 'the picture lost')
    await press(page, 'Try again')
    await page.locator('.picture.placed').waitFor({ timeout: 60_000 })
    for (const [what, spoil] of Object.entries(spoilt)) {
      await page.route('**/v1/shops/main:analyzeEdge', async (route) => {
        const answer = await route.fetch(), body = await answer.json()
        spoil(body)
        await route.fulfill({ response: answer, json: body })
      })
      await at(page, '#/')
      await at(page, bowl)
      await isPlain(page, what)
      await page.unroute('**/v1/shops/main:analyzeEdge')
    }
    // Wings that the wheel does not reach make no solid: the reason is the API's, and what is reached has its numbers.
    const far = { rig: { station: 'shops/main/stations/north', tool: 'shops/main/tools/bowl-gouge-12' }, given: { stickOutMm: 60, legAngleDeg: 10 }, points: 49 }
    const [bodiless, { edge }] = await Promise.all([api(':analyzeEdge', { ...far, include: ['EDGE_PART_MESH'] }), api(':analyzeEdge', far)])
    holds(bodiless.status === 400 && edge.findings.length > 0, 'a wing that is not reached is refused as a solid only')
    await at(page, `${bowl}&stickOut=60&leg=10°`)
    await page.locator('.plain-edge').waitFor()
    same((await texts(page, '.plain-edge > p'))[0].toLowerCase(), `${bodiless.message.toLowerCase()}.`, 'why there is no solid')
    same((await texts(page, '.wedges dd')).join(), named.map((n) => shownDeg(edge.points.find((p) => p.alongPercent === n).wedgeAngleDeg)).join(), 'numbers of a wing that is not reached')
    for (const f of edge.findings) holds((await page.locator('.cautions').allTextContents()).join().includes(f.text), `${f.code} is not told`)
    // Points that are none are left out; nothing breaks.
    await page.route('**/v1/shops/main:analyzeEdge', async (route) => {
      const answer = await route.fetch(), body = await answer.json()
      Object.assign(body.edge, { points: [null, 7, { alongPercent: 'x' }, { alongPercent: 0, backMm: 1e300, upMm: 0, sideMm: 0, reached: true, wedgeAngleDeg: 50 }], summary: 'none', findings: 5 })
      delete body.edge.planView
      await route.fulfill({ response: answer, json: body })
    })
    await at(page, '#/')
    await at(page, bowl)
    await page.getByText('not reached').first().waitFor()
    await page.unroute('**/v1/shops/main:analyzeEdge')
    // What the API cannot answer for is told in its own words.
    for (const tool of ['skew-25', 'scraper-25', 'detail-gouge-6']) {
      const refused = await api(':analyzeEdge', { rig: { station: 'shops/main/stations/north', tool: `shops/main/tools/${tool}` } })
      holds(refused.status === 400, `${tool} is answered for`)
      await at(page, `#/set-up/north/see?tool=${tool}`)
      const said = await page.locator('.refusal p').textContent()
      same(said.replace(/\.$/, '').toLowerCase(), refused.message.replace(/\.$/, '').toLowerCase(), tool)
      holds(await page.getByRole('link', { name: 'Whole set-up' }).isVisible(), `${tool}: a way on`)
    }
  })
}

/** rewritten is a solid with another description. */
function rewritten(gltf, change) {
  const file = Buffer.from(gltf, 'base64'), long = file.readUInt32LE(12), told = JSON.parse(file.subarray(20, 20 + long))
  change(told)
  let words = Buffer.from(JSON.stringify(told))
  words = Buffer.concat([words, Buffer.alloc((4 - (words.length % 4)) % 4, ' ')])
  const head = Buffer.from(file.subarray(0, 20)), rest = file.subarray(20 + long)
  head.writeUInt32LE(words.length, 12)
  head.writeUInt32LE(20 + words.length + rest.length, 8)
  return Buffer.concat([head, words, rest]).toString('base64')
}

const spoilt = {
  'no solid': (a) => delete a.edge.mesh,
  'a solid that is no text': (a) => (a.edge.mesh.gltf = { x: 1 }),
  'a solid that is no base64': (a) => (a.edge.mesh.gltf = '***'),
  'a solid that is cut off': (a) => (a.edge.mesh.gltf = a.edge.mesh.gltf.slice(0, 20_000)),
  'a solid that is something else': (a) => (a.edge.mesh.gltf = btoa('<script>alert(1)</script>')),
  'a solid of elsewhere': (a) => (a.edge.mesh.gltf = rewritten(a.edge.mesh.gltf, (d) => (d.buffers[0].uri = 'https://elsewhere.example/x.bin'))),
  'a solid whose triangles have no corners': (a) => (a.edge.mesh.gltf = rewritten(a.edge.mesh.gltf, (d) => (d.accessors[d.meshes[0].primitives[0].attributes.POSITION].count = 3))),
  'a solid that promises too much': (a) => (a.edge.mesh.gltf = rewritten(a.edge.mesh.gltf, (d) => d.accessors.forEach((x) => (x.count = 2 ** 31)))),
  'a solid without meshes': (a) => (a.edge.mesh.gltf = rewritten(a.edge.mesh.gltf, (d) => (d.meshes[0].primitives = []))),
}

/** Fifty times there and back: no canvas, no context and nothing of the graphics card is left. */
async function leaves() {
  await opened({ args: gl, viewport: phone, reducedMotion: 'reduce' }, async (page) => {
    await page.addInitScript(() => {
      const canvases = (window.canvases = [])
      const get = HTMLCanvasElement.prototype.getContext
      HTMLCanvasElement.prototype.getContext = function (...asked) {
        if (!canvases.some((c) => c.deref() === this)) canvases.push(new WeakRef(this))
        return get.apply(this, asked)
      }
    })
    const heaps = []
    await at(page, '#/')
    for (let i = 0; i < 50; i++) {
      await page.evaluate((hash) => (location.hash = hash), bowl)
      await page.locator('.picture.placed').waitFor({ timeout: 60_000 })
      if (i % 10 === 0) await press(page, 'Its swing on the wheel')
      const left = await page.evaluate(async () => {
        const { stage } = document.querySelector('k-see'), { renderer } = stage
        location.hash = '#/'
        await new Promise((done) => setTimeout(done, 60))
        return { ...renderer.info.memory, lost: renderer.getContext().isContextLost(), there: document.querySelectorAll('canvas').length }
      })
      same(JSON.stringify(left), JSON.stringify({ ...left, geometries: 0, textures: 0, lost: true, there: 0 }), `what is left after ${i + 1}`)
      if (i % 10 === 9) {
        heaps.push(await page.evaluate(async () => {
          for (let n = 0; n < 4; n++) {
            gc()
            await new Promise((done) => setTimeout(done, 50))
          }
          return { heap: performance.memory.usedJSHeapSize, canvases: window.canvases.filter((c) => c.deref()).length }
        }))
      }
    }
    const [first] = heaps, last = heaps.at(-1)
    holds(last.canvases <= 2, `${last.canvases} canvases are still there`)
    holds(last.heap < first.heap + 4e6, `memory grew from ${first.heap} to ${last.heap}`)
    console.log(`    memory after 10 and after 50: ${heaps.map((h) => (h.heap / 1e6).toFixed(1)).join(', ')} MB, ${last.canvases} canvases`)
  })
}

/** axe finds nothing, and nothing runs out of the screen, in all looks and languages. */
async function accessible() {
  const modes = [
    { look: 'light', language: 'en', large: false, view: tablet, contrast: 'more' }, { look: 'dark', language: 'de', large: false, view: phone },
    { look: 'light', language: 'es', large: true, view: phone }, { look: 'dark', language: 'en', large: true, view: { width: 768, height: 1024 } },
    { look: 'light', language: 'de', large: true, view: { width: 844, height: 390 } }, { look: 'dark', language: 'es', large: false, view: { width: 844, height: 390 }, forced: 'active' },
  ]
  const found = []
  for (const m of modes) {
    for (const args of [gl, no3d]) {
      await opened({ args, viewport: m.view, colorScheme: m.look, contrast: m.contrast ?? 'no-preference', forcedColors: m.forced ?? 'none', reducedMotion: 'reduce', bypassCSP: true }, async (page) => {
        await page.addInitScript((p) => localStorage.setItem('arris.prefs', JSON.stringify(p)), { language: m.language, large: m.large, inch: m.large })
        await at(page, bowl)
        await page.locator('.picture.placed, .plain-edge').waitFor({ timeout: 60_000 })
        await page.addScriptTag({ content: axe })
        for (const mode of args === gl ? ['edge', 'swing'] : ['plain']) {
          if (mode === 'swing') await page.locator('.see-head button').last().click()
          await frame(page)
          const where = `${mode} (${m.look}, ${m.language}, ${m.view.width}×${m.view.height})`
          const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }))
          // Colours that the device forces are its own, and axe reads those of the style sheet.
          for (const v of violations.filter((v) => !(m.forced && v.id === 'color-contrast'))) found.push(`${where}: ${v.id}: ${v.help}: ${v.nodes.map((n) => n.target).join(', ')}`)
          found.push(...(await page.evaluate(measured)).map((w) => `${where}: ${w}`))
          if (args === gl) await apart(page, where)
        }
      })
    }
  }
  holds(found.length === 0, `${found.length} findings:\n  ${[...new Set(found)].join('\n  ')}`)
}

// measured runs in the page.
function measured() {
  const found = []
  for (const e of document.querySelectorAll('a[href], button')) {
    const { width, height } = e.getBoundingClientRect()
    if (width > 0 && (width < 44 || height < 44)) found.push(`a target of ${width.toFixed(0)}×${height.toFixed(0)} px: ${e.outerHTML.slice(0, 120)}`)
  }
  if (document.documentElement.scrollWidth > innerWidth) found.push(`${document.documentElement.scrollWidth - innerWidth} px run out of the screen`)
  for (const e of document.querySelectorAll('.row dd, button, .tag, .legend span')) if (e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1) found.push(`cut off: ${e.textContent.trim()}`)
  return found
}

const parts = { numbers, onlyWhenAsked, turned, swings, plainly, leaves, accessible }

export default async function see() {
  const wanted = process.env.ARRIS_SEE?.split(',') ?? Object.keys(parts)
  for (const name of wanted) {
    const start = Date.now()
    await parts[name]()
    console.log(`    ${name}: ${((Date.now() - start) / 1000).toFixed(1)} s`)
  }
}
