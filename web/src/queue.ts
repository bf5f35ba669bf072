import { post, Refused } from "./api";

/** One measured value on its way to the server; its id makes sending twice harmless. */
export interface Entry { id: string; path: string; operation: string; nest: string; what: string; value: string; who: string; at: string }

const NAME = "fettle.entries";
let memory: Entry[] = [];
const listeners = new Set<(waiting: number) => void>();

function load(): Entry[] {
  try {
    return JSON.parse(localStorage.getItem(NAME) ?? "[]");
  } catch {
    return memory;
  }
}
function save(list: Entry[]): void {
  memory = list;
  try {
    localStorage.setItem(NAME, JSON.stringify(list));
  } catch {
    /* kept in memory while the page stays open */
  }
  listeners.forEach((tell) => tell(list.length));
}

export const waiting = () => load().length;
export const onWaiting = (tell: (n: number) => void) => {
  listeners.add(tell);
  return () => void listeners.delete(tell);
};

/** Puts an entry in the queue and tries to send everything in order. True when nothing waits afterwards. */
export async function send(entry?: Entry): Promise<boolean> {
  if (entry) save([...load(), entry]);
  for (const one of load()) {
    try {
      await post("entry", one);
    } catch (e) {
      if (!(e instanceof Refused) || e.status >= 500 || e.status === 403) return false; // no connection, or the server is busy: later
      save(load().filter((x) => x.id !== one.id));
      throw e; // the server will never take it: say so
    }
    save(load().filter((x) => x.id !== one.id));
  }
  return true;
}

addEventListener("online", () => void send().catch(() => {}));
setInterval(() => load().length && void send().catch(() => {}), 15000);

export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}
