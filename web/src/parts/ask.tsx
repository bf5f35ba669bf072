import { useEffect, useState } from "preact/hooks";
import { address, get } from "../api";
import type { State } from "../model";
import { placeOf } from "../store";
import { t } from "../texts";
import { Mark } from "./state";

interface Hit { kind: "reckoner" | "finding" | "page"; name?: string; id?: string; title: string; why?: string; state?: State }

const goes = (h: Hit, path: string) =>
  h.kind === "reckoner" ? placeOf("bench", h.name) : h.kind === "finding" ? placeOf("desk", path, { f: h.id ?? "" }) :
  h.name === "papers" ? address("sheet.pdf", { path }) : placeOf("floor", path, h.name === "changed" ? { tab: "changed" } : {});

/** A question in the shop's words finds the calculator or the finding that answers it. */
export function Ask({ path }: { path: string }) {
  const [words, setWords] = useState("");
  const [hits, setHits] = useState<Hit[] | null>(null);
  useEffect(() => {
    if (words.trim().length < 3) return setHits(null);
    const stop = new AbortController();
    const later = setTimeout(() => {
      get<{ hits: Hit[] }>("ask", { words, path: path || undefined }, stop.signal).then((a) => setHits(a.hits)).catch(() => {});
    }, 200);
    return () => {
      clearTimeout(later);
      stop.abort();
    };
  }, [words, path]);
  const close = () => {
    setWords("");
    setHits(null);
  };
  return (
    <div class="ask" role="search" onKeyDown={(e) => e.key === "Escape" && close()}>
      <input type="search" aria-label={t("ask.label")} placeholder={t("ask.hint")} value={words} onInput={(e) => setWords(e.currentTarget.value)} />
      {hits && (
        <ul class="found" aria-label={t("ask.answers")}>
          {!hits.length && <li class="none">{t("ask.none")}</li>}
          {hits.map((h) => (
            <li>
              <a href={goes(h, path)} onClick={close}>
                {h.state && <Mark state={h.state} />} {h.title} <span class="soft small">· {t(`ask.${h.kind}`)}</span>
              </a>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
