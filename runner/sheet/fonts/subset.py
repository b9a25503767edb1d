"""Makes the sheet's fonts out of their sources. README.md says where those come from.

usage: subset.py STIX SANS OUT
  STIX  folder of the Go module codeberg.org/go-fonts/stix v0.3.0
  SANS  source-sans-3-latin-400-normal.woff2 of the npm package @fontsource/source-sans-3 5.3.1
  OUT   folder for the woff2 files

Needs fontTools 4.38 with its cu2qu and brotli (Debian: fonttools, python3-brotli).
"""
import os
import sys
from fontTools import subset
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont, newTable

ASCII = range(0x20, 0x7F)
SIGNS = [ord(c) for c in "\u00a0§°±²³µ·½×÷\u2009\u202f‐‑–—‘’“”„•…′″−"]
POWERS = [ord(c) for c in "⁰ⁱ⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉"]
GREEK = [*range(0x3B1, 0x3CA)] + [ord(c) for c in "ΓΔΘΛΞΠΣΦΨΩ"]
TICKS = [ord(c) for c in "→⇒≈≠≤≥√∞"]
LETTERS = [c for c in range(0xC0, 0x180) if chr(c) not in "×÷"]  # with accents: in files of their own

ITALIC = [*range(0x1D434, 0x1D468), 0x210E, 0x1D6A4, 0x1D6A5]  # U+210E is the italic h
ITALIC_GREEK = [*range(0x1D6FC, 0x1D71C)] + [0x1D6E2 + ord(c) - 0x391 for c in "ΓΔΘΛΞΠΣΦΨΩ"]
OPERATORS = [ord(c) for c in "\u00a0¨¯°±·×÷˙˜\u0302\u0304\u0307‖…′″‾⁄\u2009\u202f\u2061\u2062\u2063→⇒∂∇∏∑−∝∞∫∮∼≈≠≡≤≥√⋅"]
UPRIGHT_GREEK = [ord(c) for c in "ΓΔΘΛΞΠΣΦΨΩπ"]

MATH, TEXT, ITALICS, BOLD = (f"stix2{d}/STIXTwo{f}.otf" for d, f in (
    ("mathregular", "Math-Regular"), ("textregular", "Text-Regular"), ("textitalic", "Text-Italic"), ("textsemibold", "Text-SemiBold")))
FACES = [  # out, source (None: the sans), characters, layout features, family
    ("sheet-math", MATH, [*ASCII, *ITALIC, *ITALIC_GREEK, *OPERATORS, *UPRIGHT_GREEK], ["ssty"], "Sheet Math"),
    ("sheet-text-regular", TEXT, [*ASCII, *SIGNS, *POWERS, *GREEK, *TICKS], ["kern", "liga"], "Sheet Text"),
    ("sheet-text-semibold", BOLD, [*ASCII, *SIGNS, *POWERS], ["kern", "liga"], "Sheet Text"),
    ("sheet-text-italic", ITALICS, [*ASCII, *SIGNS], ["kern", "liga"], "Sheet Text"),
    ("sheet-sans", None, [*ASCII, *SIGNS], ["kern", "liga"], "Sheet Sans"),
    ("letters-text-regular", TEXT, LETTERS, [], "Sheet Text"),
    ("letters-text-semibold", BOLD, LETTERS, [], "Sheet Text"),
    ("letters-text-italic", ITALICS, LETTERS, [], "Sheet Text"),
    ("letters-sans", None, LETTERS, [], "Sheet Sans"),
]


def outlines(font):
    """TrueType outlines: of web fonts with others, Chromium's PDFs hold no proper font."""
    if "CFF " not in font:
        return
    glyphs, order = font.getGlyphSet(), font.getGlyphOrder()
    glyf = newTable("glyf")
    glyf.glyphOrder, glyf.glyphs = order, {}
    for name in order:
        pen = TTGlyphPen(glyphs)
        glyphs[name].draw(Cu2QuPen(pen, max_err=1.0, reverse_direction=True))
        glyf.glyphs[name] = pen.glyph()
    font["glyf"], font["loca"] = glyf, newTable("loca")
    maxp = font["maxp"]
    maxp.tableVersion = 0x00010000
    for field in ("maxZones", "maxTwilightPoints", "maxStorage", "maxFunctionDefs", "maxInstructionDefs", "maxStackElements",
                  "maxSizeOfInstructions", "maxComponentElements", "maxPoints", "maxContours", "maxCompositePoints",
                  "maxCompositeContours", "maxComponentDepth"):
        setattr(maxp, field, 1 if field == "maxZones" else 0)
    del font["CFF "]
    if "VORG" in font:
        del font["VORG"]
    font.sfntVersion = "\x00\x01\x00\x00"


def one_script_size(font):
    """Forms for indices only of upright letters, figures and signs, and one for every depth: an index of
    slanted letters is rare, and an index of an index rarer."""
    italics = {font.getBestCmap().get(c) for c in (*ITALIC, *ITALIC_GREEK)}
    for lookup in font["GSUB"].table.LookupList.Lookup:
        for table in lookup.SubTable:
            table = getattr(table, "ExtSubTable", table)
            for glyph, forms in list(getattr(table, "alternates", {}).items()):
                if glyph in italics:
                    del table.alternates[glyph]
                else:
                    table.alternates[glyph] = forms[:1] * 2


def make(stix, sans, out):
    for name, source, characters, features, family in FACES:
        font = TTFont(os.path.join(stix, source) if source else sans, recalcTimestamp=False)
        if "ssty" in features:
            one_script_size(font)
            constants = font["MATH"].table.MathConstants  # so that p₁ and T₁ carry their index at one height
            constants.SubscriptBaselineDropMin.Value = -20
            constants.SuperscriptBaselineDropMax.Value = 360
        options = subset.Options()
        options.layout_features = features
        options.hinting = options.glyph_names = options.notdef_outline = False
        options.name_IDs = [0, 1, 2, 13, 14]
        options.drop_tables += ["DSIG", "STAT", "gasp"]
        if family == "Sheet Math":
            options.drop_tables += ["GPOS"]
        options.flavor = "woff2"
        subsetter = subset.Subsetter(options)
        subsetter.populate(unicodes=characters)
        subsetter.subset(font)
        outlines(font)
        for record in font["name"].names:
            if record.nameID == 1:
                record.string = family  # "Source" is a reserved name
        font.flavor = "woff2"
        path = os.path.join(out, name + ".woff2")
        font.save(path)
        print(path, os.path.getsize(path), len(font.getGlyphOrder()), "glyphs")


if __name__ == "__main__":
    make(*sys.argv[1:])
