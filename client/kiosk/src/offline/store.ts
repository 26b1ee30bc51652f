// What this device keeps for when there is no connection: the last answers, entries that wait to be sent, and who the device is. Where nothing
// can be kept (a private window, a full disk, a browser without IndexedDB) the page works as long as there is a connection.
import { openDB, type DBSchema, type IDBPDatabase } from 'idb'

/** The last answer to a question, or its refusal. */
export interface Kept {
  value?: object
  refusal?: { message: string; reason: string; fields: string[]; ways: object[] }
  /** When it came, in ms. */
  time: number
  engine: string
}

/** Something that was done here, to be told to the server once. */
export interface Entry {
  /** Counts on this device for ever. */
  n: number
  device: string
  kind: 'wheel' | 'sharpening' | 'lock' | 'inspection'
  /** The record it is about. */
  about: string
  path: string
  body: object
  /** The query's name for the new record's id, where one is chosen here. */
  idField?: string
  time: number
  /** The API's words, when it would not have it. */
  refused?: string
}

interface Shelves extends DBSchema {
  answers: { key: string; value: Kept; indexes: { time: number } }
  outbox: { key: number; value: Entry }
  facts: { key: string; value: unknown }
}

type Store = IDBPDatabase<Shelves>

const patience = 3000 // ms: a store that does not open in that time is none
let opening: Promise<Store> | undefined

function open(): Promise<Store> {
  opening ??= openDB<Shelves>('arris', 1, {
    upgrade(db) {
      db.createObjectStore('answers').createIndex('time', 'time')
      db.createObjectStore('outbox', { keyPath: 'n', autoIncrement: true })
      db.createObjectStore('facts')
    },
    terminated: () => (opening = undefined),
    blocking: (_now, _then, event) => (event.target as IDBDatabase).close(),
  })
  return opening
}

/** use does something with the store; undefined where there is none. */
export async function use<T>(job: (store: Store) => Promise<T>): Promise<T | undefined> {
  try {
    return await job(await Promise.race([open(), new Promise<never>((_, fail) => setTimeout(() => fail(new Error('no store')), patience))]))
  } catch {
    opening = undefined // it may have been cleared away: opened anew the next time
    return undefined
  }
}
