import { useEffect, useRef, useState } from "preact/hooks";
import { get } from "../api";
import { t } from "../texts";

/** True where the browser can draw in three dimensions at all. */
function able(): boolean {
  try {
    return !!document.createElement("canvas").getContext("webgl2");
  } catch {
    return false;
  }
}

function Three({ path, back }: { path: string; back: () => void }) {
  const box = useRef<HTMLCanvasElement>(null);
  const [off, setOff] = useState(!able());
  useEffect(() => {
    if (off) return;
    let end = () => {};
    let gone = false;
    (async () => {
      const [{ show }, scene] = await Promise.all([import("./three"), get<any>("scene", { path })]);
      if (!gone && box.current) end = show(box.current, scene);
    })().catch(() => setOff(true));
    return () => {
      gone = true;
      end();
    };
  }, [path, off]);
  return (
    <div>
      {off ? <p role="status">{t("desk.three.off")}</p> : <canvas ref={box} class="three" tabIndex={0} aria-label={t("desk.three.label")} role="img" />}
      <p class="soft small">{!off && t("desk.three.hint")}</p>
      <button onClick={back}>{t("desk.three.close")}</button>
    </div>
  );
}

export const lazyThree = (path: string, back: () => void) => <Three path={path} back={back} />;
