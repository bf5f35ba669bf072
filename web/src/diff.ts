/** Lines that go and lines that come, as text: longest common run of lines between what the server compared. */
export function changedLines(rows: { line: number; old: string | null; new: string | null }[]): string {
  if (!rows.length) return "";
  const a = rows.map((r) => r.old).filter((x): x is string => x !== null), b = rows.map((r) => r.new).filter((x): x is string => x !== null);
  const first = rows[0].line;
  // same[i][j]: common lines of a from i and b from j
  const same = Array.from({ length: a.length + 1 }, () => new Uint16Array(b.length + 1));
  for (let i = a.length - 1; i >= 0; i--) for (let j = b.length - 1; j >= 0; j--) same[i][j] = a[i] === b[j] ? same[i + 1][j + 1] + 1 : Math.max(same[i + 1][j], same[i][j + 1]);
  const out: string[] = [];
  const wide = String(first + Math.max(a.length, b.length)).length;
  for (let i = 0, j = 0; i < a.length || j < b.length; ) {
    if (i < a.length && j < b.length && a[i] === b[j]) i++, j++;
    else if (i < a.length && (j >= b.length || same[i + 1][j] >= same[i][j + 1])) out.push(`${String(first + i++).padStart(wide)}  - ${a[i - 1]}`);
    else out.push(`${" ".repeat(wide)}  + ${b[j++]}`);
  }
  return out.join("\n");
}
