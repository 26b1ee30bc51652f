// The decoder for browsers without one of their own: ZXing-C++ as WebAssembly, served by this server like all other files.
import { prepareZXingModule, readBarcodes, type ReaderOptions } from 'zxing-wasm/reader'
import wasm from 'zxing-wasm/reader/zxing_reader.wasm'
import { Problem } from '../api/http'
import { t } from '../words'
import type { Detector } from './detector'

const program = new URL(wasm, import.meta.url)
const options: ReaderOptions = { formats: ['QRCode', 'Code128', 'Code39', 'DataMatrix', 'EAN13'], tryInvert: false } // paper is white

let loaded: Promise<unknown> | undefined

/** decoder loads it, once. */
export async function decoder(): Promise<Detector> {
  loaded ??= load()
  await loaded.catch((thrown: unknown) => {
    loaded = undefined
    throw thrown
  })
  return { detect }
}

/** fetched is the program; a worker keeps it from then on. It is read whole: a worker that still hands one out gives way to no newer one. */
export async function fetched(): Promise<ArrayBuffer> {
  const answer = await fetch(program)
  if (!answer.ok) throw new Problem('away', t('What reads the codes could not be fetched: the server answered {status}.', { status: answer.status }))
  return answer.arrayBuffer()
}

// The library would fetch its program by itself from another host: so it is given it.
async function load(): Promise<void> {
  const wasmBinary = await fetched()
  await prepareZXingModule({ overrides: { wasmBinary, locateFile: () => program.href }, fireImmediately: true })
}

async function detect(picture: ImageData) {
  const found = await readBarcodes(picture, options)
  return found.map(({ text, position: p }) => ({ rawValue: text, cornerPoints: [p.topLeft, p.topRight, p.bottomRight, p.bottomLeft] }))
}
