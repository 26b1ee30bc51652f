// The page as the gateway serves it: the browser takes all of it under its policy, from this server alone, the small way, and keeps what has
// a name by its content. A stopped server is away, and back with what it kept.
import { address, api, holds, opened, same } from './browser.mjs'

export default async function served() {
  await opened({}, loads).catch(unlessMeant)
  await hasDecoder()
  await isTold()
  await comesBack()
}

async function loads(page) {
  const answers = new Map()
  page.on('response', (answer) => answers.set(new URL(answer.url()).pathname, answer))
  await page.addInitScript(() => {
    window.blocked = []
    addEventListener('securitypolicyviolation', (e) => window.blocked.push(e.violatedDirective))
  })

  await page.goto(`${address}/kiosk/`)
  await page.waitForLoadState('networkidle')
  same(await page.evaluate(() => window.blocked.join()), '', 'blocked by the policy')
  holds((await page.title()) !== '', 'the page has no title')
  const [, script] = [...answers].find(([path]) => /\/assets\/.*\.js$/.test(path)) ?? []
  holds(script !== undefined, 'no script was asked for')
  for (const [path, answer] of answers) {
    holds(answer.status() < 400, `${path} is answered ${answer.status()}`)
    if (path.startsWith('/kiosk/')) same((await answer.allHeaders())['x-content-type-options'], 'nosniff', path)
  }
  const headers = await script.allHeaders()
  same(headers['content-encoding'], 'br', 'coding of the script')
  same(headers['cache-control'], 'public, max-age=31536000, immutable', 'how long the script is kept')

  // What a page that somebody slipped something into could do.
  const done = await page.evaluate(async () => {
    const inline = document.createElement('script')
    inline.textContent = 'window.slipped = true'
    document.head.append(inline)
    const elsewhere = await fetch('http://192.0.2.1/').then(() => 'answered', () => 'refused')
    const made = await new Promise((done) => setTimeout(() => { // a debugger's own call would be let through
      try { done(new Function('return "ran"')()) } catch { done('refused') }
    }))
    const program = await WebAssembly.compile(new Uint8Array([0, 0x61, 0x73, 0x6d, 1, 0, 0, 0])).then(() => 'compiled', () => 'refused') // the empty one
    return { slipped: window.slipped === true, elsewhere, made, program, secure: isSecureContext, camera: document.featurePolicy?.allowsFeature('camera') }
  })
  same(done.slipped, false, 'a script written into the page ran')
  same(done.elsewhere, 'refused', 'another host')
  same(done.made, 'refused', 'a script made of text')
  same(done.program, 'compiled', 'a program for the camera')
  await page.waitForFunction(() => window.blocked.includes('script-src-elem') && window.blocked.includes('connect-src'))
  same(done.secure, true, 'this machine counts as secure')
  same(done.camera ?? true, true, 'the camera')
}

/** unlessMeant passes over what was meant to be refused, of which the browser speaks. */
function unlessMeant(e) {
  const meant = /Content Security Policy|asked another host: http:\/\/192\.0\.2\.1/
  const rest = e.message.split('\n').slice(1).filter((line) => !meant.test(line) && line.trim() !== '')
  if (!e.message.startsWith('the page complained') || rest.length > 0) throw e
}

// The camera's program comes from here, the small way, as what it is, and with its licences.
async function hasDecoder() {
  const [name] = /assets\/[\w.-]+\.wasm/.exec(await (await fetch(`${address}/kiosk/sw.js`)).text()) ?? []
  holds(name, 'the worker knows of no program for the camera')
  const { status, headers } = await fetch(`${address}/kiosk/${name}`, { headers: { 'Accept-Encoding': 'br' } })
  same([status, headers.get('content-type'), headers.get('content-encoding')].join(' '), '200 application/wasm br', name)
  same(headers.get('cache-control'), 'public, max-age=31536000, immutable', `how long ${name} is kept`)
  const licence = await (await fetch(`${address}/kiosk/assets/decoder-license.txt`)).text()
  holds(/zxing-wasm[^]*MIT License[^]*ZXing-C\+\+[^]*Apache License/.test(licence), 'the licences of what reads codes')
}

async function isTold() {
  const config = await (await fetch(`${address}/kiosk/config.json`)).json()
  holds(/^\d+\.\d+\.\d+$/.test(config.engineVersion) && config.secure === false && config.publicUrl === '', JSON.stringify(config))
}

async function comesBack() {
  const control = (what) => fetch(process.env.ARRIS_CONTROL + what, { method: 'POST' })
  const note = `kept ${Date.now()}`
  same((await api('/tools?toolId=kept', { displayName: note, kind: 'TOOL_KIND_BOWL_GOUGE' })).status, 200, 'a tool to be kept')
  same((await control('/stop')).status, 200, 'stop')
  holds(await fetch(`${address}/healthz`).then(() => false, () => true), 'it still answers')
  same((await control('/start')).status, 200, 'start')
  same((await api('/tools/kept')).displayName, note, 'what it kept')
}
