// The swing through an edge's poses, from one wing's end to the other and back: by itself, or pose by pose.
import type { Place } from './edge'

const perWay = 8000 // ms from end to end
const perPose = 700 // ms, where nothing may glide

export class Swing {
  /** Index of the pose that is nearest. */
  at: number
  playing = false
  private place: number // between poses
  private way = 1
  private timer = 0
  private last = 0

  /** moved is told the poses that the tool stands between and how far; changed, that another pose is nearest or that it began or ended. */
  constructor(readonly poses: readonly Place[], private readonly still: boolean, private readonly moved: (from: Place, to: Place, part: number) => void, private readonly changed: () => void) {
    const nose = poses.findIndex((p) => p.along === 0)
    this.at = this.place = Math.max(0, nose)
  }

  play(): void {
    if (this.playing || this.poses.length < 2) return
    this.playing = true
    this.changed()
    if (this.still) {
      this.timer = window.setInterval(() => this.go(this.turned(this.place, 1)), perPose)
      return
    }
    this.last = performance.now()
    const glide = (now: number) => {
      const by = (Math.min(100, now - this.last) / perWay) * (this.poses.length - 1)
      this.last = now
      this.go(this.turned(this.place, by))
      if (this.playing) this.timer = requestAnimationFrame(glide)
    }
    this.timer = requestAnimationFrame(glide)
  }

  pause(): void {
    if (!this.playing) return
    this.playing = false
    if (this.still) window.clearInterval(this.timer)
    else cancelAnimationFrame(this.timer)
    this.changed()
  }

  /** step goes to the next pose or the one before. */
  step(by: 1 | -1): void {
    this.pause()
    const from = by > 0 ? Math.floor(this.place + 1e-6) : Math.ceil(this.place - 1e-6)
    this.go(Math.min(this.poses.length - 1, Math.max(0, from + by)))
  }

  /** show tells again where the tool stands. */
  show(): void {
    this.go(this.place)
  }

  // turned is the place further on, turning back at the ends.
  private turned(from: number, by: number): number {
    const end = this.poses.length - 1, to = from + this.way * by
    if (to >= end) this.way = -1
    if (to <= 0) this.way = 1
    return Math.min(end, Math.max(0, to))
  }

  private go(place: number): void {
    this.place = place
    const i = Math.min(this.poses.length - 1, Math.floor(place)), from = this.poses[i], to = this.poses[i + 1] ?? from
    if (!from || !to) return
    this.moved(from, to, place - i)
    const nearest = Math.round(place)
    if (nearest === this.at) return
    this.at = nearest
    this.changed()
  }
}
