// A tablet stays on for weeks: set-up after set-up in one page, what is held does not grow. Heap after a collection, DOM nodes and listeners
// are Chromium's own counts, by its DevTools protocol (HeapProfiler.collectGarbage, Runtime.getHeapUsage, Performance.getMetrics).
import { alone, api, at, holds, opened, settled } from './browser.mjs'

const early = 100 // set-ups until everything that is made once is made
const late = 500
// What may come in the 400 set-ups between: less than one of any thing held for each of them.
const slack = { heap: 400_000, nodes: 100, listeners: 40 } // bytes: a set-up's answer alone is more than 10 kB

const idOf = (name) => name.split('/').pop()

export default async function memory() {
  const { tools } = await api('/tools?pageSize=1000')
  const { stations } = await api('/stations?pageSize=1000')
  const jobs = tools.flatMap((tool) => stations.map((station) => [idOf(station.name), idOf(tool.name)]))
  const pages = ['wheel', '1', '2', 'whole', 'prove', 'log', 'what-if', 'stands']
  await opened({}, async (page) => {
    await at(page, '#/')
    const cdp = await page.context().newCDPSession(page)
    await cdp.send('Performance.enable')
    // Each is opened in the page itself, and the next when it is drawn: one word to the browser for all of them.
    const open = (from, to) => page.evaluate(async (hashes) => {
      const drawn = () => new Promise((done) => setTimeout(done))
      for (const hash of hashes) {
        location.hash = hash
        const waiting = () => (document.documentElement.dataset.asked ?? '0') !== '0' || !document.querySelector('k-set-up')?.textContent.trim() || document.querySelector('.waiting')
        const since = Date.now()
        do {
          await drawn()
          if (Date.now() - since > 10_000) throw new Error(`nothing is shown at ${hash}`)
        } while (waiting())
      }
    }, Array.from({ length: to - from }, (_, n) => hashOf(from + n)))
    const hashOf = (n) => {
      const [station, tool] = jobs[n % jobs.length]
      return `#/set-up/${station}/${pages[(n + Math.floor(n / jobs.length)) % pages.length]}?tool=${tool}`
    }
    // What is compared is held, and not only shown: it is counted on a page that shows nothing of it.
    const held = async () => {
      await page.evaluate(() => (location.hash = '#/options'))
      await settled(page)
      for (let n = 0; n < 3; n++) await cdp.send('HeapProfiler.collectGarbage')
      const { usedSize: heap } = await cdp.send('Runtime.getHeapUsage')
      const { metrics } = await cdp.send('Performance.getMetrics')
      const count = (name) => metrics.find((m) => m.name === name).value
      return { heap, nodes: count('Nodes'), listeners: count('JSEventListeners') }
    }
    await open(0, early)
    const first = await held()
    await open(early, late)
    const last = await held()
    for (const what of Object.keys(slack)) {
      console.log(`    ${what}: ${first[what]} after ${early}, ${last[what]} after ${late}`)
    }
    for (const [what, most] of Object.entries(slack)) holds(last[what] - first[what] <= most, `${what} grew by ${last[what] - first[what]} in ${late - early} set-ups, more than ${most}`)
  })
}

await alone(import.meta.url, memory)
