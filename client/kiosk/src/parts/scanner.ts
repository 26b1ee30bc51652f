// Reading a code with the camera, over the whole screen, until one is read or somebody closes it. The camera is on no longer than that.
import { html, type TemplateResult } from 'lit'
import { customElement, state } from 'lit/decorators.js'
import { Problem } from '../api/http'
import { t } from '../words'
import { central, detector, type Detector } from './detector'
import { aim, warnIcon } from './icons'
import { Screen } from './screen'

const pause = 150 // ms between looks
const patience = 6000 // ms before it is said what helps
const wider = 1.3 // times the frame is looked at: hands are not still
const least = 900 // px a side: of a picture made larger, decoders read what is small and blurred far more often
const camera = { facingMode: 'environment', width: { ideal: 1920 }, height: { ideal: 1080 } }

@customElement('k-scanner')
export class Scanner extends Screen {
  /** The code that was read, when `done` is told; empty: it was closed without. */
  code = ''
  @state() private trouble = ''
  @state() private hint = ''
  private stream: MediaStream | undefined
  private readonly left = () => {
    if (document.hidden && this.stream) this.close()
  }

  override connectedCallback(): void {
    super.connectedCallback()
    document.addEventListener('visibilitychange', this.left)
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    document.removeEventListener('visibilitychange', this.left)
    this.stop()
  }

  protected override firstUpdated(): void {
    if (!this.isConnected) return
    this.querySelector('dialog')?.showModal()
    void this.begin()
  }

  private async begin(): Promise<void> {
    this.trouble = ''
    this.hint = t('One moment…')
    const loading = detector()
    loading.catch(() => undefined) // told below, once somebody waits for it
    let stream: MediaStream | undefined
    try {
      stream = this.stream = await navigator.mediaDevices.getUserMedia({ video: camera })
      if (!this.isConnected) return this.stop()
      stream.getTracks().forEach((track) => (track.onended = () => this.fail(new DOMException('', 'NotReadableError'))))
      await this.updateComplete
      const video = this.querySelector('video')
      if (!video) return this.stop()
      video.srcObject = stream
      await video.play()
      await this.look(stream, video, await loading)
    } catch (thrown) {
      if (this.stream === stream) this.fail(thrown) // one that ended before has said so, and another may be on
    }
  }

  private async look(stream: MediaStream, video: HTMLVideoElement, by: Detector): Promise<void> {
    const since = Date.now()
    while (this.stream === stream && this.isConnected) {
      const picture = this.framed(video)
      const code = picture && central(await by.detect(picture), picture)
      if (this.stream !== stream || !this.isConnected) return // closed while it was looked at
      if (code) {
        this.code = code
        return this.close()
      }
      this.hint = Date.now() - since < patience
        ? t('Of a label, of a sheet, or of another system.')
        : t('Nothing read yet. Go nearer or further away, hold it still, and give it light.')
      await new Promise((resolve) => setTimeout(resolve, pause))
    }
  }

  /** framed is the part of the camera's picture that the frame shows, and what is close around it. */
  private framed(video: HTMLVideoElement): ImageData | undefined {
    const { videoWidth, videoHeight } = video, frame = this.querySelector('.aim')
    if (!frame || videoWidth === 0) return undefined
    const shown = Math.max(video.clientWidth / videoWidth, video.clientHeight / videoHeight) // it covers its place
    const side = Math.round(Math.min(videoWidth, videoHeight, (wider * frame.clientWidth) / shown)), size = Math.max(side, least)
    const canvas = Object.assign(document.createElement('canvas'), { width: size, height: size })
    const pen = canvas.getContext('2d', { willReadFrequently: true })
    if (!pen || side === 0) return undefined
    pen.imageSmoothingQuality = 'high'
    pen.drawImage(video, (videoWidth - side) / 2, (videoHeight - side) / 2, side, side, 0, 0, size, size)
    return pen.getImageData(0, 0, size, size)
  }

  private fail(thrown: unknown): void {
    this.stop()
    this.trouble = said(thrown)
  }

  /** stop puts out the camera's light. */
  private stop(): void {
    this.stream?.getTracks().forEach((track) => track.stop())
    this.stream = undefined
  }

  private close(): void {
    this.stop()
    this.querySelector('dialog')?.close()
  }

  // closed is heard however it was closed: keys and gestures of the device do so too.
  private closed(): void {
    this.stop()
    this.dispatchEvent(new Event('done'))
  }

  protected override render() {
    return html`<dialog class="scanner" aria-label=${t('Scan with the camera')} @close=${() => this.closed()}>
      ${this.trouble ? this.without() : this.with()}
    </dialog>`
  }

  private with(): TemplateResult {
    return html`
      <div class="view"><video muted playsinline aria-label=${t('What the camera sees')}></video>${aim()}</div>
      <div class="tell">
        <h2>${t('Hold the code inside the frame')}</h2>
        <p role="status">${this.hint}</p>
        ${this.closer()}
      </div>`
  }

  private without(): TemplateResult {
    return html`<div class="tell alone">
      <p class="lead" role="alert">${warnIcon()} ${this.trouble}</p>
      <p>${t('Without the camera, type the code, or let a hand scanner type it.')}</p>
      <button type="button" class="primary" @click=${() => void this.begin()}>${t('Try again')}</button>
      ${this.closer()}
    </div>`
  }

  private closer = () => html`<button type="button" @click=${() => this.close()}>${t('Close')}</button>`
}

// said is why there is no picture, and what helps (names of exceptions: W3C Media Capture and Streams, 10.2).
function said(thrown: unknown): string {
  if (thrown instanceof Problem) return thrown.message
  switch (thrown instanceof Error ? thrown.name : '') {
    case 'NotAllowedError':
    case 'SecurityError':
      return t('This page may not use the camera. Allow it in the settings of the browser, or of the device.')
    case 'NotFoundError':
    case 'OverconstrainedError':
      return t('No camera was found on this device.')
    case 'NotReadableError':
    case 'AbortError':
      return t('The camera was taken away, or another program is using it.')
    default:
      return t('The camera cannot be used.')
  }
}
