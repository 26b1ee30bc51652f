// Going on and back by arrow keys and by swiping, beside the buttons that say the same.
import { go } from '../../route'

const far = 60 // px of a swipe
const slope = 0.6

interface Ways {
  next?: () => string | undefined
  back?: () => string | undefined
}

/** keys listens for arrows and swipes while an element is shown; call what it returns when it goes. */
export function keys(host: HTMLElement, ways: Ways): () => void {
  let from: { x: number; y: number } | undefined
  const take = (way: 'next' | 'back') => {
    const where = host.isConnected ? ways[way]?.() : undefined
    if (where) go(where)
  }
  const onKey = (e: KeyboardEvent) => {
    if (e.target instanceof HTMLInputElement || e.target instanceof HTMLTextAreaElement || e.ctrlKey || e.metaKey || e.altKey) return
    if (e.key === 'ArrowRight') take('next')
    else if (e.key === 'ArrowLeft') take('back')
  }
  const onStart = (e: TouchEvent) => {
    const touch = e.touches.length === 1 ? e.touches[0] : undefined
    from = touch ? { x: touch.clientX, y: touch.clientY } : undefined
  }
  const onEnd = (e: TouchEvent) => {
    const touch = e.changedTouches[0]
    if (!from || !touch) return
    const x = touch.clientX - from.x, y = touch.clientY - from.y
    if (Math.abs(x) > far && Math.abs(y) < slope * Math.abs(x)) take(x < 0 ? 'next' : 'back')
    from = undefined
  }
  window.addEventListener('keydown', onKey)
  window.addEventListener('touchstart', onStart, { passive: true })
  window.addEventListener('touchend', onEnd, { passive: true })
  return () => {
    window.removeEventListener('keydown', onKey)
    window.removeEventListener('touchstart', onStart)
    window.removeEventListener('touchend', onEnd)
  }
}
