// What this device remembers of how people like to read it. Whoever shows something listens for `change`.

export const languages = ['en', 'de', 'es'] as const
export type Language = (typeof languages)[number]
export type Look = 'auto' | 'light' | 'dark'

const kept = 'arris.prefs'

/** stored reads what was kept under a key; a full, forbidden or spoiled store is an empty one. */
export function stored<T>(key: string): Partial<T> {
  try {
    const value: unknown = JSON.parse(localStorage.getItem(key) ?? '{}')
    return typeof value === 'object' && value !== null ? (value as Partial<T>) : {}
  } catch {
    return {}
  }
}

/** store keeps something under a key, where that is possible. */
export function store(key: string, value: unknown): void {
  try {
    localStorage.setItem(key, JSON.stringify(value))
  } catch {
    // it is only forgotten at the next start
  }
}

class Prefs extends EventTarget {
  inch = false
  large = false
  look: Look = 'auto'
  letter = false
  shop = 'main'
  language: Language = languages.find((l) => navigator.language.startsWith(l)) ?? 'en'

  constructor() {
    super()
    const was = stored<Prefs>(kept)
    this.inch = was.inch === true
    this.large = was.large === true
    this.letter = was.letter === true
    if (was.look === 'light' || was.look === 'dark') this.look = was.look
    if (typeof was.shop === 'string' && /^[a-z0-9-]{1,63}$/.test(was.shop)) this.shop = was.shop
    this.language = languages.find((l) => l === was.language) ?? this.language
  }

  set(change: Partial<Pick<Prefs, 'inch' | 'large' | 'look' | 'letter' | 'shop' | 'language'>>): void {
    Object.assign(this, change)
    const { inch, large, look, letter, shop, language } = this
    store(kept, { inch, large, look, letter, shop, language })
    this.dispatchEvent(new Event('change'))
  }
}

export const prefs = new Prefs()
