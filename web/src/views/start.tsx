import { useEffect, useState } from "preact/hooks";
import { get } from "../api";
import type { Problem } from "../model";
import { placeOf } from "../store";
import { t } from "../texts";
import { Problems } from "../parts/problems";
import { Drop } from "./begin";

export interface Plans { plans: { path: string; name: string; date: string; hash: string }[]; files: { path: string; kind: string }[] }

/** Where a visit begins: plans to open, a part to drop, one question for the bench. */
export function StartView() {
  const [plans, set] = useState<Plans | null>(null);
  const [problems, setProblems] = useState<Problem[]>([]);
  useEffect(() => {
    get<Plans>("plans").then(set).catch((e) => setProblems(e.problems?.length ? e.problems : [{ message: String(e) }]));
  }, []);
  return (
    <main id="content">
      <h1>{t("start.title")}</h1>
      <p class="soft">{t("start.lead")}</p>
      <Problems problems={problems} />
      <div class="cards">
        <section>
          <h2>{t("start.open")}</h2>
          {plans && !plans.plans.length && <p class="soft">{t("start.none")}</p>}
          <ul class="list plans">
            {plans?.plans.map((p) => <li><a href={placeOf("desk", p.path)}><span><b>{p.name}</b><br /><span class="soft small n">{p.path}</span></span><span class="soft small n">{p.date}</span></a></li>)}
          </ul>
          {plans && plans.plans.length > 1 && <p><a href={placeOf("compare")}>{t("nav.compare")}</a></p>}
          <h3>{t("start.bench")}</h3>
          <p class="soft">{t("start.bench.hint")}</p>
          <p><a href={placeOf("bench")}>{t("start.bench.go")}</a></p>
        </section>
        <section><Drop shops={plans?.files.filter((f) => f.kind === "shop").map((f) => f.path) ?? []} /></section>
      </div>
    </main>
  );
}
