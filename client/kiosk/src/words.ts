// The page's own words. A key is the English; a language that lacks one falls back to it. What the engine says comes in its own words.
import { prefs, type Language } from './prefs'

type Catalogue = Record<string, string>

// A device speaks one language most of the time: the others are loaded when they are chosen.
const loaders: Partial<Record<Language, () => Promise<{ default: Catalogue }>>> = { de: () => import('../words/de.json'), es: () => import('../words/es.json') }
const catalogues: Partial<Record<Language, Catalogue>> = {}

/** t is a text in the language of this device, with {names} filled in. */
export function t(key: string, values: Record<string, string | number> = {}): string {
  const words = catalogues[prefs.language]?.[key] ?? key
  return words.replace(/\{(\w+)\}/g, (whole, name: string) => (name in values ? String(values[name]) : whole))
}

/** speak loads the words of this device's language; without them the page speaks English. */
export async function speak(): Promise<void> {
  const { language } = prefs, load = loaders[language]
  if (!load || catalogues[language]) return
  try {
    catalogues[language] = (await load()).default
  } catch {
    catalogues[language] = {} // not there without a connection, before the page was kept
  }
}
