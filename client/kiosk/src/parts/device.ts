// What this device can do by itself, and what it cannot for want of a secure origin.
import { html, nothing, type TemplateResult } from 'lit'
import { moment } from '../format'
import { connection } from '../offline/connection'
import { use } from '../offline/store'
import { t } from '../words'

/** canScan tells whether a camera can be asked for here: browsers give one to secure origins alone. */
export const canScan = () => window.isSecureContext && (navigator.mediaDevices as MediaDevices | undefined)?.getUserMedia !== undefined

export interface Device {
  setUps: number
  /** When the oldest of them was fetched. */
  since: number | undefined
}

/** device counts what is kept here. */
export async function device(): Promise<Device> {
  const found = await use(async (store) => {
    const setUps = await store.count('answers', IDBKeyRange.bound('solve ', 'solve \uffff'))
    const oldest = await store.transaction('answers').store.index('time').openCursor()
    return { setUps, since: oldest?.value.time }
  })
  return found ?? { setUps: 0, since: undefined }
}

export function deviceNote({ setUps, since }: Device): TemplateResult {
  const secure = window.isSecureContext
  return html`
    <section class="option">
      <h2>${t('Without a connection')}</h2>
      ${secure
        ? html`<p>${setUps > 0 && since !== undefined ? t('{n} set-ups are kept on this device, the oldest of {time}.', { n: setUps, time: moment(since) }) : t('No set-up is kept on this device yet.')}</p>`
        : html`<p>${t('Opening this page without a connection, installing it and the camera are off: they need an address that begins with https.')}
            ${connection.publicUrl.startsWith('https:') ? html`<a class="link" href=${connection.publicUrl}>${connection.publicUrl}</a>` : nothing}</p>`}
      ${connection.engine ? html`<p class="more">${t('Engine {version}', { version: connection.engine })}</p>` : nothing}
    </section>`
}
