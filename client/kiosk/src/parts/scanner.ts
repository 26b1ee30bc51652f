// Reading a code with the camera, where the browser can: it needs a secure origin and a detector of its own.
import { html, nothing } from 'lit'
import { customElement, state } from 'lit/decorators.js'
import { t } from '../words'
import { Screen } from './screen'

interface Detector {
  detect(source: HTMLVideoElement): Promise<{ rawValue: string }[]>
}
declare global {
  interface Window {
    BarcodeDetector?: new (options: { formats: string[] }) => Detector
  }
}

/** canScan tells whether this browser reads codes, here. */
export const canScan = () => window.isSecureContext && window.BarcodeDetector !== undefined && navigator.mediaDevices?.getUserMedia !== undefined

const pause = 150 // ms between looks

@customElement('k-scanner')
export class Scanner extends Screen {
  /** The code that was read, when `scanned` is told. */
  code = ''
  @state() private trouble = ''
  private stream: MediaStream | undefined

  protected override firstUpdated(): void {
    void this.look()
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback()
    this.stream?.getTracks().forEach((track) => track.stop())
  }

  private async look(): Promise<void> {
    const video = this.querySelector('video')
    if (!video || !window.BarcodeDetector) return
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } })
      if (!this.isConnected) return this.stream.getTracks().forEach((track) => track.stop())
      video.srcObject = this.stream
      await video.play()
      const detector = new window.BarcodeDetector({ formats: ['qr_code', 'code_128', 'data_matrix', 'ean_13'] })
      while (this.isConnected) {
        const code = (await detector.detect(video))[0]?.rawValue
        if (code) {
          this.code = code
          this.dispatchEvent(new Event('scanned'))
          return
        }
        await new Promise((resolve) => setTimeout(resolve, pause))
      }
    } catch {
      this.trouble = t('The camera cannot be used. Type the code, or let a hand scanner type it.')
    }
  }

  protected override render() {
    return html`<div class="scanner">
      <video muted playsinline aria-label=${t('What the camera sees')}></video>
      ${this.trouble ? html`<p role="alert">${this.trouble}</p>` : nothing}
    </div>`
  }
}
