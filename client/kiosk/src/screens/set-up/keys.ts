// Going on and back by arrow keys and by swiping, beside the buttons that say the same.
import type { ReactiveController, ReactiveControllerHost } from 'lit'
import { go } from '../../route'

const far = 60 // px of a swipe
const slope = 0.6

interface Ways {
  next?: () => string | undefined
  back?: () => string | undefined
}

/** Keys listens for arrows and swipes while an element is shown. */
export class Keys implements ReactiveController {
  private from: { x: number; y: number } | undefined

  constructor(host: ReactiveControllerHost, private readonly ways: Ways) {
    host.addController(this)
  }

  hostConnected(): void {
    window.addEventListener('keydown', this.onKey)
    window.addEventListener('touchstart', this.onStart, { passive: true })
    window.addEventListener('touchend', this.onEnd, { passive: true })
  }

  hostDisconnected(): void {
    window.removeEventListener('keydown', this.onKey)
    window.removeEventListener('touchstart', this.onStart)
    window.removeEventListener('touchend', this.onEnd)
  }

  private take(way: 'next' | 'back'): void {
    const where = this.ways[way]?.()
    if (where) go(where)
  }

  private readonly onKey = (e: KeyboardEvent) => {
    if (e.target instanceof HTMLInputElement || e.target instanceof HTMLTextAreaElement || e.ctrlKey || e.metaKey || e.altKey) return
    if (e.key === 'ArrowRight') this.take('next')
    else if (e.key === 'ArrowLeft') this.take('back')
  }

  private readonly onStart = (e: TouchEvent) => {
    const touch = e.touches.length === 1 ? e.touches[0] : undefined
    this.from = touch ? { x: touch.clientX, y: touch.clientY } : undefined
  }

  private readonly onEnd = (e: TouchEvent) => {
    const touch = e.changedTouches[0]
    if (!this.from || !touch) return
    const x = touch.clientX - this.from.x, y = touch.clientY - this.from.y
    if (Math.abs(x) > far && Math.abs(y) < slope * Math.abs(x)) this.take(x < 0 ? 'next' : 'back')
    this.from = undefined
  }
}
