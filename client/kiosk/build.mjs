// Builds the page into dist/: hashed files, an index that names them, and each of them compressed beside it.
import { build } from 'esbuild'
import { createHash } from 'node:crypto'
import { cpSync, mkdirSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { dirname, extname, join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'
import { brotliCompressSync, constants, gzipSync } from 'node:zlib'

const here = dirname(fileURLToPath(import.meta.url))
const dist = join(here, 'dist')
const least = 512 // bytes that are worth compressing
const compressed = new Set(['.html', '.js', '.css', '.svg', '.webmanifest', '.txt', '.wasm'])

// What others keep in dist, such as a placeholder, stays.
for (const name of ['assets', 'icons', 'index.html', 'manifest.webmanifest', 'sw.js']) {
  for (const tail of ['', '.gz', '.br']) rmSync(join(dist, name + tail), { recursive: true, force: true })
}
mkdirSync(join(dist, 'assets'), { recursive: true })

const result = await build({
  absWorkingDir: here,
  entryPoints: { app: 'src/main.ts' },
  outdir: 'dist/assets',
  entryNames: '[name]-[hash]',
  chunkNames: '[name]-[hash]',
  assetNames: '[name]-[hash]',
  bundle: true,
  splitting: true,
  format: 'esm',
  target: 'es2022',
  minify: true,
  legalComments: 'linked',
  loader: { '.woff2': 'file', '.wasm': 'file' },
  metafile: true,
  logLevel: 'warning',
})

// entry is the script that the page begins with; what is imported later has an entry of its own.
function entry() {
  const { outputs } = result.metafile
  return Object.keys(outputs).find((name) => outputs[name].entryPoint === 'src/main.ts')
}

// built is the name of the entry's file of a kind.
function built(ending) {
  return relative('dist', ending === '.css' ? result.metafile.outputs[entry()].cssBundle : entry())
}

// What a first visit fetches: the entry, its style, and what it imports outright; what is imported when asked for is not among it.
function firstLoaded() {
  const { outputs } = result.metafile
  const wanted = new Set([entry(), outputs[entry()].cssBundle])
  for (const name of wanted) {
    for (const to of outputs[name]?.imports ?? []) if (to.kind !== 'dynamic-import' && !to.external) wanted.add(to.path)
  }
  return new Set([join(dist, 'index.html'), ...[...wanted].map((name) => join(here, name))])
}

// What the entry and its style would only name once they are read is asked for with the page: the rest of the script, and the fonts.
function ahead() {
  const scripts = [...firstLoaded()].map((path) => relative(dist, path)).filter((name) => name.endsWith('.js') && name !== built('.js'))
  const fonts = Object.keys(result.metafile.outputs).filter((name) => name.endsWith('.woff2')).map((name) => relative('dist', name))
  return [
    ...scripts.map((name) => `<link rel="modulepreload" href="${name}">`),
    ...fonts.map((name) => `<link rel="preload" href="${name}" as="font" type="font/woff2" crossorigin>`),
  ].join('\n')
}

cpSync(join(here, 'icons'), join(dist, 'icons'), { recursive: true, filter: (name) => !name.endsWith('.mjs') })
cpSync(join(here, 'manifest.webmanifest'), join(dist, 'manifest.webmanifest'))
cpSync(join(here, 'node_modules/@fontsource/barlow-semi-condensed/LICENSE'), join(dist, 'assets/font-license.txt'))
writeFileSync(join(dist, 'assets/decoder-license.txt'), decoderLicense())
const page = readFileSync(join(here, 'index.html'), 'utf8')
writeFileSync(join(dist, 'index.html'), page.replace('{script}', built('.js')).replace('{style}', built('.css')).replace('{ahead}', ahead()))
await buildWorker()

let first = 0, later = 0
const atFirst = firstLoaded()
for (const file of filesIn(dist)) {
  const body = readFileSync(file)
  if (compressed.has(extname(file)) && body.length >= least) {
    const br = brotliCompressSync(body, { params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: body.length } })
    writeFileSync(file + '.gz', gzipSync(body, { level: 9 }))
    writeFileSync(file + '.br', br)
    const size = /\.(html|js|css|wasm)$/.test(file) ? gzipSync(body, { level: 9 }).length : 0
    if (atFirst.has(file)) first += size
    else later += size
  } else if (file.endsWith('.woff2')) {
    first += body.length
  }
}
const print = createHash('sha256').update(readFileSync(join(dist, 'index.html'))).digest('hex').slice(0, 12)
console.log(`kiosk page ${print}: first load ${(first / 1000).toFixed(1)} kB compressed, fonts included; ${(later / 1000).toFixed(1)} kB more when asked for`)
if (first > 100_000) {
  console.error('more than 100 kB: something has to be loaded later')
  process.exit(1)
}

// The decoder is two works: the library, and the program in it, whose licence is this project's as well.
function decoderLicense() {
  const library = readFileSync(join(here, 'node_modules/zxing-wasm/LICENSE'), 'utf8'), program = readFileSync(join(here, '../../LICENSE'), 'utf8')
  return `zxing-wasm, of which decoder-*.js is made:\n\n${library}\nZXing-C++, of which zxing_reader-*.wasm is made:\n\n${program}`
}

// The worker is built last: it is told which files there are. Licences are read online, and what a placeholder says is not true any more.
async function buildWorker() {
  const files = filesIn(dist).map((path) => relative(dist, path)).filter((name) => !/\.txt$|^placeholder/.test(name)).sort()
  const print = createHash('sha256')
  for (const name of files) print.update(name).update(readFileSync(join(dist, name)))
  await build({
    absWorkingDir: here, entryPoints: ['src/sw.ts'], outfile: 'dist/sw.js', bundle: true, format: 'iife', target: 'es2022', minify: true, logLevel: 'warning',
    define: { FILES: JSON.stringify(files.filter((name) => !isLate(name))), LATE: JSON.stringify(files.filter(isLate)), VERSION: JSON.stringify(print.digest('hex').slice(0, 12)) },
  })
}

// The decoder's program is more than all the rest, and browsers with a detector of their own never ask for it: it is kept once it was asked for.
function isLate(name) {
  return name.endsWith('.wasm')
}

function filesIn(folder) {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name)
    return statSync(path).isDirectory() ? filesIn(path) : [path]
  }).filter((path) => !/\.(gz|br)$|placeholder/.test(path))
}
