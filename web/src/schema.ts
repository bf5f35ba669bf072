import { get } from "./api";

interface Key { name: string; choices?: string[]; type: string; table?: Table | null }
interface Table { keys: Key[] }
let asked: Promise<{ tables: Record<string, Table> }> | null = null;

/** The words a value of the plan may be, from the server's own schema; empty where anything may be typed. */
export async function choicesOf(key: string): Promise<string[]> {
  try {
    let at: Table | null | undefined = (await (asked ??= get<{ tables: Record<string, Table> }>("schema"))).tables.plan;
    const words = key.split(".");
    for (let i = 0; i < words.length; i++) {
      const found: Key | undefined = at?.keys.find((k) => k.name === words[i]);
      if (!found) return [];
      if (i === words.length - 1) return found.type.includes("list") ? [] : found.choices ?? [];
      at = found.table;
      if (/list of tables/.test(found.type)) i++; // the row's own name
    }
  } catch {
    asked = null;
  }
  return [];
}

/** The number that the cursor stands in or before, moved by one in its last place (ten with `big`); null where there is none. */
export function stepped(text: string, cursor: number, by: number): { text: string; cursor: number } | null {
  const all = [...text.matchAll(/\d+(?:\.\d+)?/g)];
  const hit = all.find((m) => cursor <= m.index! + m[0].length) ?? all[all.length - 1];
  if (!hit) return null;
  const places = hit[0].split(".")[1]?.length ?? 0;
  const next = Math.max(0, Number(hit[0]) + by * 10 ** -places).toFixed(places);
  return { text: text.slice(0, hit.index) + next + text.slice(hit.index! + hit[0].length), cursor: hit.index! + next.length };
}
