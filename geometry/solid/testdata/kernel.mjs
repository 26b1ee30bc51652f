// Grinds blanks with an outside solid kernel (manifold-3d) and measures what is left. Reads a list of jobs as JSON from standard input,
// writes a list of results. It knows nothing of how a grind is computed: it subtracts wheels where it is told that they stand.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';

const tools = createRequire(process.argv[2] + '/');
const Module = (await import(pathToFileURL(process.argv[2] + '/manifold-3d/manifold.js'))).default;
const validator = tools('gltf-validator');
const kernel = await Module();
kernel.setup();
const { Manifold, Mesh } = kernel;

const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const length = (a) => Math.hypot(...a);
const frame = (x, y, z, at) => [...x, 0, ...y, 0, ...z, 0, ...at, 1];

// A wheel around its own axis, with flat sides: fine ones where it touches, from well ahead of the edge to behind the heel, coarse ones
// elsewhere. The edge lies in the middle of a side.
function disc(radius, sides, ahead, behind) {
  const points = [];
  const step = (2 * Math.PI) / sides;
  const far = radius / Math.cos(step / 2);
  const at = (angle) => points.push([far * Math.cos(angle), far * Math.sin(angle)]);
  const [from, to] = [-Math.ceil(behind / step) - 0.5, Math.ceil(ahead / step) + 0.5];
  for (let i = from; i <= to; i++) at(i * step);
  const rest = 2 * Math.PI - (to - from) * step;
  for (let i = 1; i < 24; i++) at(to * step + (i * rest) / 24);
  return points;
}

// The distance from a point to a triangle's nearest corner or side, as far as near ones go.
function distance(p, a, b, c) {
  const toSide = (s, t) => {
    const along = minus(t, s);
    const u = Math.min(1, Math.max(0, dot(minus(p, s), along) / dot(along, along)));
    return length(minus(p, [s[0] + u * along[0], s[1] + u * along[1], s[2] + u * along[2]]));
  };
  return Math.min(toSide(a, b), toSide(b, c), toSide(c, a));
}

function grind(job) {
  const started = performance.now();
  const blank = Manifold.extrude(job.section, job.behind - job.front, 4).transform(
    frame([0, 1, 0], [0, 0, 1], [1, 0, 0], [job.front, 0, 0])).asOriginal();
  const name = blank.originalID();
  // One wheel after the other: the wheels of neighbouring poses all but coincide, and to join them first would take minutes. Each is cut in
  // its own frame: its long thin sides then lie along the axes, and the kernel, which looks for what may touch by boxes, finds few.
  let left = blank;
  for (const w of job.wheels) {
    const into = [0, 1, 2].flatMap((i) => [w.out[i], w.up[i], w.axle[i], 0]);
    const origin = [w.out, w.up, w.axle].map((d) => -dot(d, w.corner));
    left = left.transform([...into, ...origin, 1]).subtract(Manifold.extrude(disc(w.radius, job.sides, 0.15, w.arc), w.width))
      .transform(frame(w.out, w.up, w.axle, w.corner));
    left.status(); // makes it now
  }
  const pieces = left.decompose();
  const tool = pieces.reduce((a, b) => (a.boundingBox().max[0] - 1e-9 * a.volume() >= b.boundingBox().max[0] - 1e-9 * b.volume() ? a : b));
  const seconds = (performance.now() - started) / 1000;
  return { ...measure(tool, name, job), removed: blank.volume() - tool.volume(), seconds };
}

// The angle between the faces of blank and wheel nearest to every probe, and the distance of the edge between them.
function measure(tool, blank, job) {
  const mesh = tool.getMesh();
  const corner = (t, i) => { const v = mesh.triVerts[3 * t + i] * mesh.numProp; return [...mesh.vertProperties.slice(v, v + 3)]; };
  const probes = job.probes.map((at) => ({ at, of: [{ off: Infinity }, { off: Infinity }] }));
  for (let run = 0; run < mesh.runOriginalID.length; run++) {
    const kind = mesh.runOriginalID[run] === blank ? 0 : 1;
    for (let t = mesh.runIndex[run] / 3; t < mesh.runIndex[run + 1] / 3; t++) {
      const [a, b, c] = [corner(t, 0), corner(t, 1), corner(t, 2)];
      for (const p of probes) {
        if (Math.min(length(minus(a, p.at)), length(minus(b, p.at)), length(minus(c, p.at))) > 80) continue;
        const off = distance(p.at, a, b, c);
        const normal = cross(minus(b, a), minus(c, a));
        if (off < p.of[kind].off && length(normal) > 1e-9) p.of[kind] = { off, normal };
      }
    }
  }
  return {
    wedges: probes.map(({ of: [f, g] }) => Math.PI - Math.atan2(length(cross(f.normal, g.normal)), dot(f.normal, g.normal))),
    off: probes.map(({ of: [f, g] }) => Math.max(f.off, g.off)),
  };
}

// The engine's own mesh, as the kernel takes it.
function taken({ positions, triangles }) {
  const mesh = new Mesh({ numProp: 3, vertProperties: Float32Array.from(positions), triVerts: Uint32Array.from(triangles) });
  const body = new Manifold(mesh);
  return { status: body.status(), volume: body.volume(), pieces: body.decompose().length };
}

const results = [];
for (const job of JSON.parse(readFileSync(0, 'utf8'))) {
  const report = await validator.validateBytes(Uint8Array.from(Buffer.from(job.gltf, 'base64')));
  results.push({
    ...grind(job), ours: taken(job.mesh),
    gltfErrors: report.issues.messages.filter((m) => m.severity <= 1).map((m) => `${m.code} ${m.pointer}: ${m.message}`),
  });
}
process.stdout.write(JSON.stringify(results));
