// Codes in a picture: found by the browser's own detector where it has one, else by a decoder that is loaded when the camera is opened.
import { Problem } from '../api/http'
import { t } from '../words'

/** What is found, as the browser's own detector tells it; of that, the part that is used here. */
export interface Found {
  rawValue: string
  cornerPoints: readonly { x: number; y: number }[]
}
export interface Detector {
  detect(picture: ImageData): Promise<Found[]>
}
declare global {
  interface Window {
    BarcodeDetector?: { new (options: { formats: string[] }): Detector; getSupportedFormats(): Promise<string[]> }
  }
}

// Our own paper has QR codes; the others are what other systems stick on tools.
const formats = ['qr_code', 'code_128', 'code_39', 'data_matrix', 'ean_13']

/** detector is what this browser reads codes with. */
export async function detector(): Promise<Detector> {
  const own = await builtIn()
  return own ? { detect: (picture) => own.detect(picture).catch(async () => (await loaded()).detect(picture)) } : await loaded()
}

async function loaded(): Promise<Detector> {
  try {
    return await (await import('./decoder')).decoder()
  } catch (thrown) {
    if (thrown instanceof Problem) throw thrown
    const away = thrown instanceof TypeError // fetch and import say so
    throw new Problem('away', away ? t('What reads the codes could not be fetched: the server cannot be reached.') : t('What reads the codes does not run in this browser.'))
  }
}

/** builtIn is the browser's own detector, if it reads QR codes here: some have one that a device's system leaves empty. */
export async function builtIn(): Promise<Detector | undefined> {
  const { BarcodeDetector } = window
  const supported = (await BarcodeDetector?.getSupportedFormats().catch(() => undefined)) ?? []
  if (!BarcodeDetector || !supported.includes('qr_code')) return undefined
  return new BarcodeDetector({ formats: formats.filter((f) => supported.includes(f)) })
}

/** central is what the code says that is nearest to a picture's middle: labels come in sheets. */
export function central(found: readonly Found[], { width, height }: ImageData): string | undefined {
  const off = ({ cornerPoints: c }: Found) => {
    const mean = (axis: 'x' | 'y') => c.reduce((sum, p) => sum + p[axis], 0) / Math.max(1, c.length)
    return Math.hypot(mean('x') - width / 2, mean('y') - height / 2)
  }
  return found.filter((f) => f.rawValue !== '').sort((a, b) => off(a) - off(b))[0]?.rawValue
}
