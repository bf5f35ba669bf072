#!/usr/bin/env python3
"""Makes the committed font files from the published web fonts. Needs python3-fonttools; run once, by hand.

    npm pack @fontsource/atkinson-hyperlegible @fontsource/atkinson-hyperlegible-mono \
             @fontsource/noto-sans @fontsource/noto-sans-math @fontsource/noto-sans-symbols @fontsource/noto-sans-symbols-2
    for f in *.tgz; do tar xzf $f --one-top-level=${f%-[0-9].*}; done
    python3 make_fonts.py FOLDER_WITH_THE_UNPACKED_PACKAGES

Text faces: the latin and latin-ext subsets joined, hints dropped. Signs: only the signs that the text faces lack.
"""
import glob
import os
import sys

from fontTools.merge import Merger, Options as MergeOptions
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.fontBuilder import FontBuilder
from fontTools.ttLib import TTFont

SIGNS = ("←↑→↓↔⇒▲▶▸▼◀△▽◇◆○●◐◯■□☐☑✓✗"  # arrows and marks
         "≈≠≤≥∞√∑∫∂∈∝∅∥⊥⟂∠′″−‖"  # sums
         "⌀⌒⌓⌖⌭⌯⌰↗⏤⏥◎ⓁⓂⓅⓈⓊⒺ"  # drawing signs (ISO 1101)
         "µμαβγδεζηθκλνξπρστφχψωΓΔΘΛΣΦΨΩ"
         " \u00a0\ufffd")
SMALL = {**dict(zip("⁰⁴⁵⁶⁷⁸⁹⁺⁻", "0456789+−")), **dict(zip("₀₁₂₃₄₅₆₇₈₉₊₋", "0123456789+−"))}


def one(folder, package, name):
    found = glob.glob(f"{folder}/*{package}*/package/files/{package}-{name}-normal.woff")
    if len(found) != 1:
        sys.exit(f"{package}-{name}: found {found}")
    return found[0]


def text_face(folder, package, weight, out):
    parts = []
    for subset in ("latin", "latin-ext"):
        font = TTFont(one(folder, package, f"{subset}-{weight}"))
        font.flavor = None
        for table in ("fpgm", "prep", "cvt ", "gasp", "GDEF", "GSUB", "STAT", "DSIG", "hdmx", "LTSH", "VDMX"):
            if table in font:
                del font[table]
        if subset == "latin-ext" and "GPOS" in font:
            del font["GPOS"]
        for name in font["glyf"].keys():
            font["glyf"][name].removeHinting()
        part = f"{out}.{subset}"
        font.save(part)
        parts.append(part)
    merged = Merger(options=MergeOptions(drop_tables=["GSUB", "GDEF"])).merge(parts)
    for part in parts:
        os.remove(part)
    source = TTFont(one(folder, package, f"latin-{weight}"))
    merged["name"] = source["name"]
    merged["OS/2"].usWeightClass = int(weight.split("-")[0])
    merged["head"].created = merged["head"].modified = source["head"].created
    merged["head"].macStyle = source["head"].macStyle
    merged.recalcTimestamp = False
    merged.save(out)


def signs_face(folder, out):
    sources = [TTFont(one(folder, p, n)) for p, n in (
        ("noto-sans", "greek-400"), ("noto-sans-math", "latin-400"), ("noto-sans-symbols-2", "symbols-400"),
        ("noto-sans-symbols", "symbols-400"), ("noto-sans", "latin-400"))]
    glyphs, metrics, cmap = {}, {}, {}

    def draw(name, font, source_name, matrix):
        recording = DecomposingRecordingPen(font.getGlyphSet())
        font.getGlyphSet()[source_name].draw(recording)
        pen = TTGlyphPen(None)
        recording.replay(TransformPen(pen, matrix))
        glyphs[name] = pen.glyph()
        width = round(font["hmtx"][source_name][0] * matrix[0])
        glyphs[name].recalcBounds(None)
        metrics[name] = (width, getattr(glyphs[name], "xMin", 0))

    empty = TTGlyphPen(None)
    glyphs[".notdef"], metrics[".notdef"] = empty.glyph(), (600, 0)
    for sign in SIGNS:
        font = next((f for f in sources if ord(sign) in f.getBestCmap()), None)
        if font is None:
            sys.exit(f"no source for U+{ord(sign):04X}")
        name = f"uni{ord(sign):04X}"
        draw(name, font, font.getBestCmap()[ord(sign)], (1, 0, 0, 1, 0, 0))
        cmap[ord(sign)] = name
    latin = sources[-1]
    for sign, digit in SMALL.items():
        name = f"uni{ord(sign):04X}"
        high = sign in "⁰⁴⁵⁶⁷⁸⁹⁺⁻"
        draw(name, latin, latin.getBestCmap()[ord(digit)], (0.6, 0, 0, 0.6, 0, 290 if high else -120))
        cmap[ord(sign)] = name
    # Per mille: a per cent sign with one more small zero.
    pen, recording, percent = TTGlyphPen(None), DecomposingRecordingPen(latin.getGlyphSet()), latin.getBestCmap()[ord("%")]
    latin.getGlyphSet()[percent].draw(recording)
    recording.replay(pen)
    recording = DecomposingRecordingPen(latin.getGlyphSet())
    latin.getGlyphSet()[latin.getBestCmap()[ord("0")]].draw(recording)
    width = latin["hmtx"][percent][0]
    recording.replay(TransformPen(pen, (0.52, 0, 0, 0.52, width - 10, 0)))
    glyphs["uni2030"], metrics["uni2030"], cmap[0x2030] = pen.glyph(), (width + 300, 0), "uni2030"
    glyphs["uni2030"].recalcBounds(None)
    metrics["uni2030"] = (width + 300, glyphs["uni2030"].xMin)
    build = FontBuilder(1000, isTTF=True)
    build.setupGlyphOrder(list(glyphs))
    build.setupCharacterMap(cmap)
    build.setupGlyf(glyphs)
    build.setupHorizontalMetrics(metrics)
    build.setupHorizontalHeader(ascent=950, descent=-290)
    build.setupNameTable({"familyName": "Fettle Signs", "styleName": "Regular", "psName": "FettleSigns-Regular",
                          "uniqueFontIdentifier": "FettleSigns-1", "fullName": "Fettle Signs", "version": "Version 1.0",
                          "copyright": "Glyphs from the Noto Project, Google LLC; SIL Open Font License 1.1"})
    build.setupOS2(sTypoAscender=950, sTypoDescender=-290, usWinAscent=950, usWinDescent=290)
    build.setupPost()
    build.font["head"].created = build.font["head"].modified = 3800000000
    build.font.recalcTimestamp = False
    build.save(out)


if __name__ == "__main__":
    here, packages = os.path.dirname(os.path.abspath(__file__)), sys.argv[1]
    for style, weight in (("Regular", "400"), ("Bold", "700")):
        text_face(packages, "atkinson-hyperlegible", weight, f"{here}/AtkinsonHyperlegible-{style}.ttf")
        text_face(packages, "atkinson-hyperlegible-mono", weight, f"{here}/AtkinsonHyperlegibleMono-{style}.ttf")
    signs_face(packages, f"{here}/FettleSigns-Regular.ttf")
