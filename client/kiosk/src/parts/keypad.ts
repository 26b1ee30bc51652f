// A big keypad for one number. It shows what was so far; the first digit begins anew, and small steps change it in one tap.
import { html, nothing } from 'lit'
import { customElement, property, state } from 'lit/decorators.js'
import { prefs } from '../prefs'
import { t } from '../words'
import { eraseIcon } from './icons'
import { Screen } from './screen'

export class Entered extends Event {
  constructor(readonly value: number) {
    super('entered')
  }
}

const longest = 8

@customElement('k-keypad')
export class Keypad extends Screen {
  /** What it is so far, in the unit that is shown. */
  @property({ type: Number }) start: number | undefined
  @property() unit = ''
  @property() label = ''
  @property() action = ''
  @property({ type: Number }) places = 1
  /** Steps offered as keys of their own. */
  @property({ attribute: false }) nudges: readonly number[] = []
  @property({ type: Boolean }) minus = false
  @property({ type: Boolean }) busy = false
  @state() private typed = ''

  private readonly onKey = (e: KeyboardEvent) => {
    if (e.target instanceof HTMLInputElement || e.target instanceof HTMLTextAreaElement || e.ctrlKey || e.metaKey || e.altKey) return
    if (/^[0-9]$/.test(e.key)) this.put(e.key)
    else if (e.key === '.' || e.key === ',') this.put('.')
    else if (e.key === '-' && this.minus) this.turnSign()
    else if (e.key === 'Backspace') this.erase()
    else if (e.key === 'Enter' && !this.isOnKey(e.target)) this.enter()
    else return
    e.preventDefault()
  }

  override connectedCallback(): void {
    super.connectedCallback()
    window.addEventListener('keydown', this.onKey)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    window.removeEventListener('keydown', this.onKey)
  }

  // isOnKey tells whether Enter is meant for a key that has the focus, or, before anything was typed, for something else on the page.
  private isOnKey(target: EventTarget | null): boolean {
    const key = target instanceof Element ? target.closest('button, a') : null
    return key !== null && (this.typed === '' || this.contains(key))
  }

  private get value(): number | undefined {
    if (this.typed === '') return this.start
    const value = Number(this.typed)
    return Number.isFinite(value) && /[0-9]/.test(this.typed) ? value : undefined
  }

  private put(key: string): void {
    if (key === '.' && this.typed.includes('.')) return
    const typed = this.typed === '' && key === '.' ? '0.' : this.typed + key
    if (typed.length <= longest) this.typed = typed
  }

  private turnSign(): void {
    this.typed = this.typed.startsWith('-') ? this.typed.slice(1) : '-' + this.typed
  }

  private erase(): void {
    this.typed = this.typed.slice(0, -1)
  }

  private nudge(by: number): void {
    this.typed = ((this.value ?? 0) + by).toFixed(this.places)
  }

  private enter(): void {
    const value = this.value
    if (value !== undefined && !this.busy) this.dispatchEvent(new Entered(value))
  }

  private get shown(): string {
    const comma = prefs.language === 'en' ? '.' : ','
    const plain = this.typed !== '' ? this.typed : this.start === undefined ? '' : this.start.toFixed(this.places)
    return plain.replace('-', '−').replace('.', comma)
  }

  protected override render() {
    const comma = prefs.language === 'en' ? '.' : ','
    const key = (label: string) => html`<button type="button" class="key" @click=${() => this.put(label)}>${label}</button>`
    return html`
      <div class="keypad" role="group" aria-label=${this.label}>
        <output class=${this.typed === '' ? 'entry old' : 'entry'} aria-live="polite" aria-label=${this.label}>
          <span class="digits">${this.shown || '\u00a0'}</span><span class="unit">${this.unit}</span>
        </output>
        ${this.nudges.length > 0
          ? html`<div class="nudges">${this.nudges.map((n) => html`
              <button type="button" class="key small" @click=${() => this.nudge(n)}>${n > 0 ? '+' : '−'}${String(Math.abs(n)).replace('.', comma)}</button>`)}</div>`
          : nothing}
        <div class="keys">
          ${['7', '8', '9', '4', '5', '6', '1', '2', '3'].map(key)}
          <button type="button" class="key" aria-label=${t('Decimal point')} @click=${() => this.put('.')}>${comma}</button>
          ${key('0')}
          <button type="button" class="key" aria-label=${t('Erase the last digit')} @click=${() => this.erase()}>${eraseIcon()}</button>
        </div>
        ${this.minus ? html`<button type="button" class="key small" @click=${() => this.turnSign()}>${t('Plus or minus')}</button>` : nothing}
        <button type="button" class="primary" ?disabled=${this.value === undefined || this.busy} @click=${() => this.enter()}>${this.action}</button>
      </div>`
  }
}
