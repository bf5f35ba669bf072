import { useEffect, useState } from "preact/hooks";
import { KEPT } from "./api";
import type { System } from "./units";

/** Where the page is: "#/desk/PLAN?f=ID". */
export interface Place { view: string; path: string; q: URLSearchParams }

export function readPlace(): Place {
  const raw = location.hash.replace(/^#\/?/, "");
  const [way, search = ""] = raw.split("?");
  const [view = "", ...rest] = way.split("/");
  return { view: view || "start", path: decodeURIComponent(rest.join("/")), q: new URLSearchParams(search) };
}

export const placeOf = (view: string, path = "", q: Record<string, string> = {}): string => {
  const search = new URLSearchParams(q).toString();
  return `#/${view}${path ? "/" + encodeURIComponent(path) : ""}${search ? "?" + search : ""}`;
};

export function usePlace(): Place {
  const [place, set] = useState(readPlace);
  useEffect(() => {
    const on = () => set(readPlace());
    addEventListener("hashchange", on);
    return () => removeEventListener("hashchange", on);
  }, []);
  return place;
}

function useKept<T extends string>(name: string, start: T): [T, (v: T) => void] {
  const [v, set] = useState<T>(() => {
    try {
      return (localStorage.getItem(name) as T) ?? start;
    } catch {
      return start;
    }
  });
  return [v, (next) => {
    set(next);
    try {
      localStorage.setItem(name, next);
    } catch {
      /* a browser that keeps nothing still shows everything */
    }
  }];
}

export type Theme = "auto" | "light" | "dark";
export const useUnits = () => useKept<System | "plan">("fettle.units", "plan");
export function useTheme(): [Theme, (t: Theme) => void] {
  const [theme, set] = useKept<Theme>("fettle.light", "auto");
  useEffect(() => {
    const dark = matchMedia("(prefers-color-scheme: dark)");
    const on = () => (document.documentElement.dataset.theme = theme === "auto" ? (dark.matches ? "dark" : "light") : theme);
    on();
    dark.addEventListener("change", on);
    return () => dark.removeEventListener("change", on);
  }, [theme]);
  return [theme, set];
}

export function useOnline(): boolean {
  const [on, set] = useState(navigator.onLine);
  useEffect(() => {
    const yes = () => set(true), no = () => set(false);
    const kept = (e: Event) => set(navigator.onLine && !(e as CustomEvent<boolean>).detail);
    addEventListener("online", yes);
    addEventListener("offline", no);
    addEventListener(KEPT, kept);
    return () => {
      removeEventListener(KEPT, kept);
      removeEventListener("online", yes);
      removeEventListener("offline", no);
    };
  }, []);
  return on;
}

/** The hash of a plan's text that was read on this device; with `hash` it is kept. */
export function seen(path: string, hash?: string): string {
  const name = `fettle.seen.${path}`;
  try {
    if (hash) localStorage.setItem(name, hash);
    return localStorage.getItem(name) ?? "";
  } catch {
    return hash ?? "";
  }
}
