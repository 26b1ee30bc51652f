// The page's own words. A key is the English; a language that lacks one falls back to it. What the engine says comes in its own words.
import de from '../words/de.json'
import es from '../words/es.json'
import { prefs } from './prefs'

const catalogues: Record<string, Record<string, string>> = { de, es }

/** t is a text in the language of this device, with {names} filled in. */
export function t(key: string, values: Record<string, string | number> = {}): string {
  const words = catalogues[prefs.language]?.[key] ?? key
  return words.replace(/\{(\w+)\}/g, (whole, name: string) => (name in values ? String(values[name]) : whole))
}
