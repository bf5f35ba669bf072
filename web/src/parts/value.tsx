import { useEffect, useRef, useState } from "preact/hooks";
import { t } from "../texts";
import type { Desk } from "../desk_state";
import type { Leaf } from "../plan";
import { say, type System } from "../units";

interface Props { desk: Desk; leaf: Leaf | undefined; name: string; units: System; from: System; hurt?: boolean }

/** A value of the plan inside a sentence: shown in the reader's units, typed as a person types, tried on Enter. */
export function Value({ desk, leaf, name, units, from, hurt }: Props) {
  const [typing, setTyping] = useState(false);
  const box = useRef<HTMLInputElement>(null);
  const back = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    if (typing) box.current?.select();
  }, [typing]);
  if (!leaf) return null;
  const now = desk.text(leaf.key, leaf.text);
  const changed = now !== leaf.text;
  const end = (value: string | null) => {
    setTyping(false);
    if (value !== null && value.trim() && value.trim() !== now)
      desk.propose({ key: leaf.key, value: leaf.list ? value.split(";").map((s) => s.trim()) : value.trim(), was: leaf.text, name });
    requestAnimationFrame(() => back.current?.focus());
  };
  if (typing)
    return (
      <input ref={box} class="val" value={now} aria-label={t("edit.label", { name, value: now })}
        onKeyDown={(e) => (e.key === "Enter" ? end(e.currentTarget.value) : e.key === "Escape" ? end(null) : undefined)}
        onBlur={(e) => end(e.currentTarget.value)} />
    );
  return (
    <button ref={back} class={`val${hurt ? " hurt" : ""}${changed ? " changed" : ""}`} title={t("edit.key", { key: leaf.key })}
      aria-label={t("edit.label", { name, value: say(now, from, units) })} onClick={() => setTyping(true)}>
      {changed && <s>{say(leaf.text, from, units)}</s>}
      {say(now, from, units)}
    </button>
  );
}
