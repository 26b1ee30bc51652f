// The picture: the finished tool by itself, or on the wheel, turned by finger, mouse and keys. It is drawn only when something changed.
import { Box3, Group, HemisphereLight, DirectionalLight, PerspectiveCamera, Raycaster, Scene, Sphere, Spherical, Vector3, WebGLRenderer, type Mesh } from 'three'
import { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js'
import { band } from './band'
import { placesOf, scaleOf, type Place, type Pose } from './edge'
import { stand, wheel, type Abrasive } from './machine'
import { dressed, read, type Look, type Solid } from './solid'
import type { Edge } from '../api/types'
import type { Point } from './tags'

export type View = 'start' | 'above' | 'nose' | 'side'
export type Turn = 'left' | 'right' | 'up' | 'down' | 'nearer' | 'farther'

export interface Spec {
  edge: Edge
  file: ArrayBuffer
  abrasive: Abrasive | undefined
  look: Look
  /** Nothing glides on after a touch. */
  still: boolean
}

// What a context has to have; without it there is no picture.
const context: WebGLContextAttributes = { alpha: true, antialias: true, depth: true, stencil: false, premultipliedAlpha: true, powerPreference: 'low-power' }

/** Where a point is on the picture, in px. */
export interface Seen extends Point {
  hidden: boolean
}

const lens = 24 // degrees; a long lens keeps shapes true
const aWhile = 120 // ms
const aTurn = Math.PI / 12
const aZoom = 1.2
const aroundSwing = 23 // mm around the contact

// Directions that the eye looks from, as x, y, z of the tool (back, up, side) or of the machine (out, up, along the axle).
const eyes: Record<'edge' | 'swing', Record<View, [number, number, number]>> = {
  edge: { start: [-0.74, 0.72, 0.52], above: [-0.004, 1, 0], nose: [-1, 0.001, 0], side: [0, 0.001, 1] },
  swing: { start: [0.42, 0.42, 0.95], above: [0.004, 1, 0], nose: [1, 0.12, 0], side: [0, 0.001, 1] },
}

export class Stage {
  /** Called after every picture. */
  drawn: () => void = () => {}
  /** Called when the graphics card has gone. */
  lost: () => void = () => {}
  readonly renderer: WebGLRenderer
  private readonly scene = new Scene()
  private readonly camera = new PerspectiveCamera(lens, 1, 0.5, 2000)
  private readonly controls: OrbitControls
  private readonly tool = new Group()
  private readonly machine = new Group()
  private readonly places: Place[]
  private readonly meshes: Mesh[] = []
  private readonly sizes: ResizeObserver
  private readonly onLost: (e: Event) => void
  private steel: Solid | undefined
  private mode: 'edge' | 'swing' = 'edge'
  private readonly hidden = new Map<Place, { is: boolean; since: number }>()
  private later = 0
  private frame = 0
  private over = false

  /** opened reads the solid first: without one there is no stage. */
  static async opened(canvas: HTMLCanvasElement, spec: Spec): Promise<Stage> {
    const meshes = await read(spec.file)
    try {
      return new Stage(canvas, spec, meshes)
    } catch (thrown) {
      meshes.forEach((m) => m.geometry.dispose())
      throw thrown
    }
  }

  private constructor(private readonly canvas: HTMLCanvasElement, private readonly spec: Spec, meshes: Mesh[]) {
    const found = canvas.getContext('webgl2', context)
    if (!found) throw new Error('no WebGL 2')
    this.renderer = new WebGLRenderer({ ...context, canvas, context: found })
    this.onLost = (e) => {
      e.preventDefault()
      if (!this.over) this.lost()
    }
    canvas.addEventListener('webglcontextlost', this.onLost)
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1))
    this.places = placesOf(spec.edge)
    this.controls = new OrbitControls(this.camera, canvas)
    Object.assign(this.controls, { enablePan: false, enableDamping: !spec.still, dampingFactor: 0.12, rotateSpeed: 0.9 })
    this.controls.addEventListener('change', () => this.redraw())
    this.scene.add(this.tool, this.machine, new HemisphereLight('#ffffff', '#8a8f92', 1.9), sun())
    this.machine.visible = false
    this.dress(meshes)
    this.sizes = new ResizeObserver(() => this.fit())
    this.sizes.observe(canvas.parentElement ?? canvas)
    this.fit()
    this.look('start')
  }

  private dress(meshes: Mesh[]): void {
    const { look, edge, abrasive } = this.spec, scale = scaleOf(edge)
    this.steel = dressed(meshes, look)
    this.steel.group.traverse((node) => {
      if ((node as Mesh).isMesh) this.meshes.push(node as Mesh)
    })
    this.tool.add(this.steel.group)
    if (scale) this.tool.add(band(this.places, scale, look))
    if (abrasive) this.machine.add(wheel(abrasive, look))
  }

  /** show chooses the tool by itself or on the wheel. */
  show(mode: 'edge' | 'swing'): void {
    this.mode = mode
    this.machine.visible = mode === 'swing'
    if (mode === 'edge') {
      this.tool.position.set(0, 0, 0)
      this.tool.quaternion.identity()
    }
    this.look('start')
  }

  /** stand puts the tool a part of the way from one pose to another. */
  stand(from: Pose, to: Pose, part: number): void {
    if (this.mode !== 'swing') return
    stand(this.tool, from, to, part)
    this.redraw()
  }

  /** look moves the eye. */
  look(from: View): void {
    const around = this.around(), portrait = Math.min(1, this.camera.aspect)
    const far = around.radius / Math.sin((lens / 2) * (Math.PI / 180)) / portrait
    this.controls.target.copy(around.center)
    this.camera.position.set(...eyes[this.mode][from]).setLength(far).add(around.center)
    Object.assign(this.camera, { near: far / 12, far: far * 12 })
    this.camera.updateProjectionMatrix()
    Object.assign(this.controls, { minDistance: far / 5, maxDistance: far * 4 })
    this.controls.update()
    this.redraw()
  }

  // around is what has to be in the picture.
  private around(): Sphere {
    const steel = this.steel!.ground
    if (this.mode === 'edge') {
      const edge = new Box3().setFromPoints(this.places.map((p) => new Vector3(...p.at))).getCenter(new Vector3())
      return new Sphere(edge.lerp(steel.center, 0.25), 1.12 * steel.radius)
    }
    const nose = this.places.find((p) => p.along === 0 && p.pose)?.pose?.nose ?? this.places.find((p) => p.pose)?.pose?.nose ?? [0, 0, 0]
    return new Sphere(new Vector3(...nose).add(new Vector3(4, -4, 0)), aroundSwing)
  }

  /** turn the picture or go nearer by a step. */
  turn(which: Turn): void {
    switch (which) {
      case 'left': return this.controls.rotateLeft(-aTurn)
      case 'right': return this.controls.rotateLeft(aTurn)
      case 'up': return this.controls.rotateUp(-aTurn)
      case 'down': return this.controls.rotateUp(aTurn)
      case 'nearer': return this.zoom(1 / aZoom)
      case 'farther': return this.zoom(aZoom)
    }
  }

  private zoom(by: number): void {
    const off = new Spherical().setFromVector3(this.camera.position.clone().sub(this.controls.target))
    off.radius = Math.min(this.controls.maxDistance, Math.max(this.controls.minDistance, off.radius * by))
    this.camera.position.setFromSpherical(off).add(this.controls.target)
    this.controls.update()
    this.redraw()
  }

  /** seen is where a place of the edge is on the picture. */
  seen(place: Place): Seen {
    const at = this.tool.localToWorld(new Vector3(...place.at))
    return { ...this.onPicture(at), hidden: this.covered(place, at) }
  }

  /** spot is the same without looking whether it is hidden. */
  spot(place: Place): Point {
    return this.onPicture(this.tool.localToWorld(new Vector3(...place.at)))
  }

  /** middle of the ground steel, on the picture. */
  middle(): Point {
    return this.onPicture(this.tool.localToWorld(this.steel!.ground.center.clone()))
  }

  private onPicture(at: Vector3): Point {
    const p = at.clone().project(this.camera)
    return { x: ((p.x + 1) / 2) * this.canvas.clientWidth, y: ((1 - p.y) / 2) * this.canvas.clientHeight }
  }

  // covered tells whether steel lies before a point of the edge. While the picture moves it is not looked at anew for every picture.
  private covered(place: Place, at: Vector3): boolean {
    const now = performance.now(), known = this.hidden.get(place)
    if (known && now - known.since < aWhile) {
      this.later ||= window.setTimeout(() => this.settle(), aWhile)
      return known.is
    }
    const is = this.behind(at)
    this.hidden.set(place, { is, since: now })
    return is
  }

  private settle(): void {
    this.later = 0
    this.hidden.clear()
    this.redraw()
  }

  private behind(at: Vector3): boolean {
    const way = at.clone().sub(this.camera.position), far = way.length()
    const ray = new Raycaster(this.camera.position, way.normalize(), 0, far - 0.6)
    return ray.intersectObjects(this.meshes, false).length > 0
  }

  redraw(): void {
    if (this.frame === 0 && !this.over) this.frame = requestAnimationFrame(() => this.draw())
  }

  private draw(): void {
    this.frame = 0
    if (this.over) return
    this.controls.update() // while it glides it tells of a change again
    this.scene.updateMatrixWorld()
    this.renderer.render(this.scene, this.camera)
    this.drawn()
  }

  private fit(): void {
    const box = this.canvas.parentElement ?? this.canvas, width = box.clientWidth, height = box.clientHeight
    if (width === 0 || height === 0) return
    this.renderer.setSize(width, height, false)
    this.camera.aspect = width / height
    this.camera.updateProjectionMatrix()
    this.redraw()
  }

  /** close gives everything back. */
  close(): void {
    if (this.over) return
    this.over = true
    cancelAnimationFrame(this.frame)
    window.clearTimeout(this.later)
    this.sizes.disconnect()
    this.controls.dispose()
    this.canvas.removeEventListener('webglcontextlost', this.onLost)
    this.renderer.dispose() // and with it all that it holds on the graphics card
    this.renderer.forceContextLoss()
  }
}

function sun(): DirectionalLight {
  const light = new DirectionalLight('#ffffff', 1.6)
  light.position.set(0.6, 1, 0.8)
  return light
}
