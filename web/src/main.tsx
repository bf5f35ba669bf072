import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { get, post } from "./api";
import { placeOf, usePlace, useOnline, useTheme, useUnits, type Theme } from "./store";
import { t } from "./texts";
import { Patterns } from "./parts/state";
import { Ask } from "./parts/ask";
import { StartView } from "./views/start";
import { DeskView } from "./views/desk";
import { BeginView } from "./views/begin";
import { BenchView } from "./views/bench";
import { FloorView } from "./views/floor";
import { CompareView } from "./views/compare";
import "./style.css";

interface About { lan?: boolean; paired?: boolean; start?: string; version?: string }

function Page() {
  const place = usePlace();
  const [units, setUnits] = useUnits();
  const [theme, setTheme] = useTheme();
  const online = useOnline();
  const [about, setAbout] = useState<About>({});
  useEffect(() => {
    get<About>("about").then((a) => {
      setAbout(a);
      if (a.start && !location.hash) location.hash = placeOf("desk", a.start);
    }).catch(() => {});
  }, []);
  const plan = place.view === "desk" || place.view === "floor" ? place.path : "";
  const link = (view: string, path: string, words: string) => <a href={placeOf(view, path)} aria-current={place.view === view ? "page" : undefined}>{words}</a>;
  return (
    <div class="frame">
      <a class="skip" href="#content" onClick={(e) => { e.preventDefault(); const m = document.getElementById("content"); m?.setAttribute("tabindex", "-1"); m?.focus(); }}>{t("skip")}</a>
      <Patterns />
      <header class="top">
        <a class="name" href={placeOf("start")}>{t("app")}</a>
        <nav aria-label={t("app")}>
          {link("start", "", t("nav.plans"))}
          {plan && link("desk", plan, t("nav.desk"))}
          {plan && link("floor", plan, t("nav.floor"))}
          {link("bench", "", t("nav.bench"))}
        </nav>
        <span class="right">
          <label class="unseen" for="units">{t("units")}</label>
          <select id="units" value={units} onChange={(e) => setUnits(e.currentTarget.value as "metric")}>
            <option value="plan">{t("units.plan")}</option><option value="metric">{t("units.metric")}</option><option value="inch">{t("units.inch")}</option>
          </select>
          <label class="unseen" for="theme">{t("theme")}</label>
          <select id="theme" value={theme} onChange={(e) => setTheme(e.currentTarget.value as Theme)}>
            {(["auto", "light", "dark"] as Theme[]).map((x) => <option value={x}>{t(`theme.${x}`)}</option>)}
          </select>
          <Ask path={plan} />
        </span>
      </header>
      {!online && <p class="notice" role="status">{t("offline")}</p>}
      {about.lan && about.paired === false ? <Pair /> :
        place.view === "desk" ? <DeskView key={place.path} path={place.path} finding={place.q.get("f") ?? ""} units={units} /> :
        place.view === "floor" ? <FloorView key={place.path} path={place.path} units={units} first={place.q.get("tab") ?? ""} /> :
        place.view === "bench" ? <BenchView name={place.path} q={place.q} units={units === "plan" ? "metric" : units} /> :
        place.view === "begin" ? <BeginView job={place.path} units={units} /> :
        place.view === "compare" ? <CompareView a={place.q.get("a") ?? ""} b={place.q.get("b") ?? ""} /> : <StartView />}
      <footer class="foot"><span>{t("footer")}</span>{about.version && <span class="n">{t("version", { version: about.version })}</span>}</footer>
    </div>
  );
}

function Pair() {
  const [code, setCode] = useState("");
  const [wrong, setWrong] = useState("");
  return (
    <main id="content">
      <h1>{t("pair.title")}</h1>
      <form onSubmit={(e) => { e.preventDefault(); post("pair", { code }).then(() => location.reload()).catch((x) => setWrong(x.message)); }}>
        <label>{t("pair.text")}<br /><input inputMode="numeric" autoComplete="one-time-code" aria-label={t("pair.code")} value={code} onInput={(e) => setCode(e.currentTarget.value)} /></label>
        <p role="alert">{wrong}</p>
        <button class="go">{t("pair.go")}</button>
      </form>
    </main>
  );
}

// over an encrypted connection the floor survives a reload without the network
if (location.protocol === "https:" && "serviceWorker" in navigator)
  navigator.serviceWorker.register("./sw.js").then(() => navigator.serviceWorker.ready)
    .then((r) => {
      const tell = (urls: string[]) => r.active?.postMessage(urls);
      tell([location.href.split("#")[0]]);
      // also what was on its way before the worker stood beside the page
      new PerformanceObserver((list) => tell(list.getEntries().map((e) => e.name))).observe({ type: "resource", buffered: true });
    }).catch(() => {});

render(<Page />, document.getElementById("page")!);
