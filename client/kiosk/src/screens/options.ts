// How this device shows things.
import { html, nothing, type TemplateResult } from 'lit'
import { customElement } from 'lit/decorators.js'
import { called, id } from '../api/read'
import * as shop from '../api/shop'
import { canScan, device, deviceNote, type Device } from '../parts/device'
import { Load, Screen } from '../parts/screen'
import { languages, prefs, type Look } from '../prefs'
import { t } from '../words'

const own: Record<string, string> = { en: 'English', de: 'Deutsch', es: 'Español' }

@customElement('k-options')
export class Options extends Screen {
  private readonly shops = new Load<{ name?: string; displayName?: string }[]>(this)

  private readonly kept = new Load<Device>(this)

  override connectedCallback(): void {
    super.connectedCallback()
    void this.shops.follow(() => shop.shops())
    void this.kept.follow(device)
  }

  protected override render() {
    const looks: [Look, string][] = [['auto', t('As the device')], ['light', t('Light')], ['dark', t('Dark')]]
    const shops = this.shops.value ?? []
    return html`
      <h1>${t('Options')}</h1>
      <div class="options">
        ${this.choice(t('Language'), languages.map((l) => ({ words: own[l] ?? l, on: prefs.language === l, choose: () => prefs.set({ language: l }) })))}
        ${this.choice(t('Unit'), [false, true].map((inch) => ({ words: inch ? t('inch') : 'mm', on: prefs.inch === inch, choose: () => prefs.set({ inch }) })))}
        ${this.choice(t('Letters'), [false, true].map((large) => ({ words: large ? t('Large') : t('Usual'), on: prefs.large === large, choose: () => prefs.set({ large }) })))}
        ${this.choice(t('Look'), looks.map(([look, words]) => ({ words, on: prefs.look === look, choose: () => prefs.set({ look }) })))}
        ${this.choice(t('Paper'), [false, true].map((letter) => ({ words: letter ? 'US Letter' : 'A4', on: prefs.letter === letter, choose: () => prefs.set({ letter }) })))}
        ${shops.length > 1 ? this.choice(t('Shop'), shops.map((s) => ({ words: called(s), on: prefs.shop === id(s.name), choose: () => this.choose(id(s.name)) }))) : nothing}
      </div>
      ${this.kept.value ? deviceNote(this.kept.value) : nothing}
      ${canScan() ? nothing : html`<p class="more">${window.isSecureContext
        ? t('This browser gives pages no camera: type codes, or use a hand scanner that types.')
        : t('A hand scanner that types works without the camera.')}</p>`}`
  }

  private choose(its: string): void {
    shop.forget()
    prefs.set({ shop: its })
  }

  private choice(title: string, options: Option[]): TemplateResult {
    return html`<div class="option"><h2>${title}</h2><div class="switch wide" role="group" aria-label=${title}>
      ${options.map((o) => html`<button type="button" aria-pressed=${o.on} @click=${o.choose}>${o.words}</button>`)}
    </div></div>`
  }
}

interface Option {
  words: string
  on: boolean
  choose: () => void
}
