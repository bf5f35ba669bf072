import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { t } from "../texts";
import type { Desk } from "../desk_state";
import type { Leaf } from "../plan";
import { choicesOf, stepped } from "../schema";
import { say, type System } from "../units";
import { saidOf } from "./problems";

interface Props { desk: Desk; leaf: Leaf | undefined; name: string; units: System; from: System; hurt?: boolean }

/** A value of the plan inside a sentence: shown in the reader's units, typed as a person types, tried on Enter; up and down move the number under the cursor and try at once. */
export function Value({ desk, leaf, name, units, from, hurt }: Props) {
  const [typing, setTyping] = useState(false);
  const [choices, setChoices] = useState<string[]>([]);
  const box = useRef<HTMLInputElement>(null), pick = useRef<HTMLSelectElement>(null);
  const back = useRef<HTMLButtonElement>(null);
  const [draft, setDraft] = useState("");
  const bad = leaf && desk.refused?.changes.find((c) => c.key === leaf.key && c.value != null);
  const badText = bad ? (Array.isArray(bad.value) ? bad.value.join("; ") : bad.value!) : "";
  useEffect(() => { // what was refused stands in its field again, marked, until it is mended or left
    if (!bad) return void (document.activeElement !== box.current && setTyping(false));
    const here = document.activeElement === back.current || document.activeElement === document.body;
    if (!typing) first.current = desk.text(leaf!.key, leaf!.text), setDraft(badText), wanted.current = here;
    setTyping(true);
  }, [bad]);
  const wanted = useRef(true); // whether an opened field takes the focus
  const first = useRef(""); // what stood here when it was opened: Escape goes back to it
  useLayoutEffect(() => { // before the next key comes
    if (typing && wanted.current) (box.current?.select(), pick.current?.focus());
    wanted.current = true;
  }, [typing]);
  if (!leaf) return null;
  const now = desk.text(leaf.key, leaf.text);
  const changed = now !== leaf.text, past = desk.just[leaf.key];
  const propose = (value: string) =>
    value.trim() === now ? bad && desk.forget() : value.trim() && desk.propose({ key: leaf.key, value: leaf.list ? value.split(";").map((s) => s.trim()) : value.trim(), was: leaf.text, name });
  const end = (value: string | null) => {
    setTyping(false);
    propose(value ?? first.current);
    // back to where the hand was, unless it went elsewhere meanwhile
    requestAnimationFrame(() => document.activeElement === document.body && back.current?.focus());
  };
  const begin = async () => {
    first.current = now;
    setDraft(now);
    setChoices(await choicesOf(leaf.key));
    setTyping(true);
  };
  const step = (e: KeyboardEvent & { currentTarget: HTMLInputElement }) => {
    const by = (e.key === "ArrowUp" ? 1 : -1) * (e.shiftKey ? 10 : 1), at = e.currentTarget;
    const next = stepped(at.value, at.selectionStart ?? 0, by);
    e.preventDefault();
    if (!next) return;
    at.value = next.text;
    setDraft(next.text);
    at.setSelectionRange(next.cursor, next.cursor);
    propose(next.text);
  };
  const label = t("edit.label", { name, value: say(now, from, units) });
  if (typing && choices.includes(now))
    return (
      <select ref={pick} class="val" aria-label={label} value={now} onChange={(e) => end(e.currentTarget.value)} onBlur={() => setTyping(false)} onKeyDown={(e) => e.key === "Escape" && end(null)}>
        {choices.map((c) => <option value={c}>{c}</option>)}
      </select>
    );
  if (typing)
    return (
      <><input ref={box} class={`val${bad ? " refused" : ""}`} value={draft} aria-label={label} onInput={(e) => setDraft(e.currentTarget.value)}
        aria-invalid={bad ? true : undefined} aria-describedby={bad ? `refused-${leaf.key}` : undefined}
        onKeyDown={(e) => (e.key === "Enter" ? end(e.currentTarget.value) : e.key === "Escape" ? end(null) : /^Arrow(Up|Down)$/.test(e.key) ? step(e) : undefined)}
        onBlur={(e) => bad && e.currentTarget.value === badText ? undefined : end(e.currentTarget.value)} />
      {bad && <span class="refusal" id={`refused-${leaf.key}`} role="alert">{desk.refused!.problems.map(saidOf).join("; ")}</span>}</>
    );
  return (
    <button ref={back} class={`val${hurt ? " hurt" : ""}${changed ? " changed" : ""}`} title={t("edit.key", { key: leaf.key })}
      aria-label={label} onClick={() => void begin()}>
      {changed ? <s>{say(leaf.text, from, units)}</s> : past !== undefined && past !== now && <s class="past">{say(past, from, units)}</s>}
      <span class="now">{say(now, from, units)}</span>
    </button>
  );
}
