import type { Problem, Study } from "./model";

/** What the server refused and why. */
export class Refused extends Error {
  constructor(public status: number, public problems: Problem[], public body: any) {
    super(problems.map((p) => [p.where, p.found, p.expected].filter(Boolean).join(": ")).join("; ") || `HTTP ${status}`);
  }
}

/** Said with every answer: true when the server was not reached and an older answer, kept on this device, stands for it. */
export const KEPT = "fettle-kept";

async function read<T>(answer: Response): Promise<T> {
  dispatchEvent(new CustomEvent(KEPT, { detail: answer.headers.get("x-fettle-kept") === "1" }));
  const text = await answer.text();
  let body: any = {};
  try {
    body = text ? JSON.parse(text) : {};
  } catch {
    body = { problems: [{ where: answer.url, found: text.slice(0, 200), expected: "JSON" }] };
  }
  if (!answer.ok) throw new Refused(answer.status, body.problems ?? [], body);
  return body as T;
}

const query = (q: Record<string, string | number | undefined>) =>
  Object.entries(q).filter(([, v]) => v !== undefined).map(([k, v]) => `${k}=${encodeURIComponent(String(v))}`).join("&");

export const get = async <T>(route: string, q: Record<string, string | number | undefined> = {}, signal?: AbortSignal): Promise<T> =>
  read<T>(await fetch(`./api/${route}?${query(q)}`, { signal, headers: { accept: "application/json" } }));

export const post = async <T>(route: string, body: unknown, signal?: AbortSignal): Promise<T> =>
  read<T>(await fetch(`./api/${route}`, { method: "POST", signal, headers: { "content-type": "application/json", "x-fettle": "1" }, body: JSON.stringify(body) }));

export const upload = async <T>(route: string, form: FormData): Promise<T> =>
  read<T>(await fetch(`./api/${route}`, { method: "POST", headers: { "x-fettle": "1" }, body: form }));

export const address = (route: string, q: Record<string, string | number | undefined>) => `./api/${route}?${query(q)}`;

/** The study: first what is quick, then the whole when it is ready; `say` hears of each step. */
export async function study(path: string, say: (s: Study) => void, signal: AbortSignal): Promise<void> {
  let now = await get<Study>("study", { path, whole: 1 }, signal);
  say(now);
  let after = 0;
  while (now.done === false && now.job && !signal.aborted) {
    const next = await get<{ step: number; doing: string; done: boolean; study?: Study; problems?: Problem[] }>("study/next", { job: now.job, after }, signal);
    after = next.step;
    now = { ...now, ...(next.study ?? {}), job: now.job, hash: next.study?.hash ?? now.hash, done: next.done, doing: next.doing };
    say(now);
    if (next.problems?.length) throw new Refused(500, next.problems, next);
  }
}
