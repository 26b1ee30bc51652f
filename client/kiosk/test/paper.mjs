// Paper as the server prints it, and codes by an outside library (ZXing-C++).
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { prepareZXingModule as prepareReader, readBarcodes } from 'zxing-wasm/reader'
import { prepareZXingModule as prepareWriter, writeBarcode } from 'zxing-wasm/writer'
import { holds, opened, shop } from './browser.mjs'

// The library would fetch its programs from elsewhere.
const program = (name) => ({ wasmBinary: readFileSync(createRequire(import.meta.url).resolve(`zxing-wasm/${name}`)) })
await prepareReader({ overrides: program('reader/zxing_reader.wasm'), fireImmediately: true })
await prepareWriter({ overrides: program('writer/zxing_writer.wasm'), fireImmediately: true })

async function printed(method, body) {
  const answer = await fetch(`${shop}:${method}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) })
  const text = await answer.text()
  holds(answer.ok, `${method}: ${text}`)
  return text
}

/** label and sheet are what is printed for a record, and for a set-up, as SVG. */
export const label = (name) => printed('renderLabel', { names: [`shops/main/${name}`], format: 'LABEL_FORMAT_SVG' })
export const sheet = (station, tool) => printed('renderSheet', {
  setup: { rig: { station: `shops/main/stations/${station}`, tool: `shops/main/tools/${tool}` } }, format: 'SHEET_FORMAT_SVG',
})

/** read is what the codes of pages say, one each, as a scanner types them. */
export async function read(...pages) {
  const said = []
  await opened({ deviceScaleFactor: 3 }, async (page) => {
    for (const svg of pages) {
      await page.setContent(svg)
      const found = await readBarcodes(await page.locator('svg').screenshot())
      holds(found.length === 1, `${found.length} codes on a page`)
      said.push(found[0].text)
    }
  })
  return said
}

/** written is a code of another system, as SVG. */
export async function written(text, format) {
  const { svg, error } = await writeBarcode(text, { format, withQuietZones: true })
  holds(svg, `${format}: ${error}`)
  return svg
}
