// Cautions, the serious ones first. Each says in words how serious it is.
import { html, nothing, type TemplateResult } from 'lit'
import { list, text } from '../api/read'
import type { Caution } from '../api/types'
import { t } from '../words'
import { stopIcon, warnIcon } from './icons'

const grave = ['SEVERITY_STOP', 'SEVERITY_WARNING']

export const isStop = (c: Caution) => c.severity === 'SEVERITY_STOP'
export const isGrave = (c: Caution) => grave.includes(text(c.severity))

export function cautions(all: Caution[] | undefined, which: (c: Caution) => boolean = () => true): TemplateResult | typeof nothing {
  const shown = list(all, 40).filter((c) => text(c.text) && which(c)).sort((a, b) => rank(a) - rank(b))
  if (shown.length === 0) return nothing
  return html`<ul class="cautions">${shown.map((c) => html`
    <li class=${isStop(c) ? 'stop' : isGrave(c) ? 'warning' : 'usual'}>
      ${isStop(c) ? html`<strong>${stopIcon()} ${t('Stop.')}</strong> ` : isGrave(c) ? html`<strong>${warnIcon()} ${t('Caution.')}</strong> ` : nothing}${text(c.text, 600)}
    </li>`)}</ul>`
}

const rank = (c: Caution) => (isStop(c) ? 0 : isGrave(c) ? 1 : 2)
