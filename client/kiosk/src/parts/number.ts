// The one number of a screen, as large as the hand: the style sheet fits it by how many letters it has.
import { html, nothing, type TemplateResult } from 'lit'

const fraction = /^(.*?)(\d+\/\d+)(.*)$/

export function bigNumber(number: string, unit: string, label: string): TemplateResult {
  const parts = fraction.exec(number)
  const figures = parts ? html`${parts[1]}<span class="fraction">${parts[2]}</span>${parts[3]}` : number
  const letters = (parts ? (parts[1]?.length ?? 0) + 2.6 : number.length) + unit.length * 0.45 + (unit && unit !== '°' ? 0.5 : 0)
  return html`
    <div class="number-box">
      <p class="number" .style=${`--letters:${Math.max(3, letters).toFixed(1)}`} aria-label=${`${label}: ${number} ${unit}`}>
        <span class="figures">${figures}</span>${unit ? html`<span class=${unit === '°' ? 'unit tight' : 'unit'}>${unit}</span>` : nothing}
      </p>
    </div>`
}
