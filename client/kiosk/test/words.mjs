// Every text of the page is in every catalogue, with the same {names}, and no catalogue has one that nobody says.
import { readFileSync, readdirSync, statSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { alone, holds } from './browser.mjs'

const here = join(dirname(fileURLToPath(import.meta.url)), '..')

const sources = (folder) => readdirSync(folder).flatMap((name) => {
  const path = join(folder, name)
  return statSync(path).isDirectory() ? sources(path) : /(?<!\.d)\.ts$/.test(name) ? [path] : []
})

export default async function words() {
  const keys = new Set()
  for (const file of sources(join(here, 'src'))) {
    const source = readFileSync(file, 'utf8')
    for (const [, key] of source.matchAll(/\bt\(\s*'((?:[^'\\]|\\.)*)'/g)) keys.add(key)
    const calls = source.match(/(?<![\w.])t\(/g)?.length ?? 0
    const literal = source.match(/(?<![\w.])t\(\s*'/g)?.length ?? 0
    holds(calls - literal === (file.endsWith('src/words.ts') ? 1 : 0), `${file} says something that is no literal text: it cannot be translated`)
  }
  holds(keys.size > 150, `only ${keys.size} texts were found`)
  for (const language of ['de', 'es']) {
    const catalogue = JSON.parse(readFileSync(join(here, 'words', `${language}.json`), 'utf8'))
    const names = (text) => (text.match(/\{\w+\}/g) ?? []).sort().join(' ')
    for (const key of keys) {
      holds(key in catalogue, `${language} lacks ${JSON.stringify(key)}`)
      holds(names(catalogue[key]) === names(key), `${language} has other names in ${JSON.stringify(catalogue[key])}`)
    }
    for (const key of Object.keys(catalogue)) holds(keys.has(key), `${language} has ${JSON.stringify(key)}, which nobody says`)
  }
}

await alone(import.meta.url, words)
