// Whether the server can be reached. A call that fails makes the page ask for what the server tells it; while that fails too it is asked for
// again. Whoever listens for `change` hears when the server goes, comes back, or has another engine.

const root = new URL('.', document.baseURI)
const patience = 5000 // ms
const again = 5000 // ms

interface Config {
  engineVersion?: unknown
  publicUrl?: unknown
}

class Connection extends EventTarget {
  away = !navigator.onLine
  engine = ''
  /** Where others reach the server; empty when nobody said. */
  publicUrl = ''
  private checking: Promise<boolean> | undefined
  private timer = 0

  constructor() {
    super()
    window.addEventListener('online', () => void this.check())
    window.addEventListener('offline', () => this.tell(true, this.engine))
  }

  /** check asks now, and tells whether the server answers. */
  check(): Promise<boolean> {
    this.checking ??= this.asked().finally(() => (this.checking = undefined))
    return this.checking
  }

  private async asked(): Promise<boolean> {
    try {
      const answer = await fetch(new URL('config.json', root), { cache: 'no-store', signal: AbortSignal.timeout(patience) })
      const config = (await answer.json().catch(() => ({}))) as Config | null
      if (typeof config?.publicUrl === 'string') this.publicUrl = config.publicUrl
      this.tell(answer.status >= 500, typeof config?.engineVersion === 'string' ? config.engineVersion.slice(0, 40) : this.engine)
    } catch {
      this.tell(true, this.engine)
    }
    return !this.away
  }

  private tell(away: boolean, engine: string): void {
    window.clearTimeout(this.timer)
    if (away) this.timer = window.setTimeout(() => void this.check(), again)
    const changed = away !== this.away || (this.engine !== '' && engine !== this.engine) // to learn which it is changes nothing
    this.away = away
    this.engine = engine
    if (changed) this.dispatchEvent(new Event('change'))
  }
}

export const connection = new Connection()
