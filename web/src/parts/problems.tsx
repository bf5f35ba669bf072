import type { Problem } from "../model";
import { t } from "../texts";

/** One problem in a sentence, without the place in a file where it stands beside what it is about. */
export const saidOf = (p: Problem) => {
  const cut = p.where ? `${p.where}: ` : "";
  return cut && p.message?.startsWith(cut) ? p.message.slice(cut.length) : (p.message ?? "");
};

/** What was refused: where, what was found, what is expected, the nearest word. */
export function Problems({ problems, retry }: { problems: Problem[]; retry?: () => void }) {
  if (!problems.length) return null;
  return (
    <div class="notice" role="alert">
      <b>{t("problem.title")}</b>
      <ul>
        {problems.map((p) => (
          <li>{p.message || [p.where && t("problem.at", { where: p.where }), p.found && t("problem.found", { found: p.found }), p.expected && t("problem.expected", { expected: p.expected }), p.near && t("problem.near", { near: p.near })].filter(Boolean).join("; ")}</li>
        ))}
      </ul>
      {retry && <button onClick={retry}>{t("retry")}</button>}
    </div>
  );
}
