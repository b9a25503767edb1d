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
LATIN1 = range(0xA0, 0x100)
PUNCTUATION = [ord(c) for c in "\u2009\u202f‐‑–—‘’“”„•…′″−"]
POWERS = [ord(c) for c in "⁰ⁱ⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉"]
GREEK = list(range(0x391, 0x3AA)) + list(range(0x3B1, 0x3CA))
TICKS = [ord(c) for c in "→⇒≈≠≤≥√∞"]

ITALIC = list(range(0x1D434, 0x1D468)) + [0x210E, 0x1D6A4, 0x1D6A5]  # U+210E is the italic h
ITALIC_GREEK = list(range(0x1D6FC, 0x1D71C)) + [0x1D6E2 + ord(c) - 0x391 for c in "ΓΔΘΛΞΠΣΦΨΩ"]
OPERATORS = [ord(c) for c in "\u00a0¨¯°±·×÷˙˜\u0302\u0304\u0307‖…′″‾⁄\u2009\u202f\u2061\u2062\u2063→⇒∂∇∏∑−∝∞∫∮∼≈≠≡≤≥√⋅"]
UPRIGHT_GREEK = [ord(c) for c in "ΓΔΘΛΞΠΣΦΨΩπ"]

FACES = [  # out, source, characters, layout features, family
    ("sheet-math", "stix2mathregular/STIXTwoMath-Regular.otf",
     [*ASCII, *ITALIC, *ITALIC_GREEK, *OPERATORS, *UPRIGHT_GREEK], ["ssty"], "Sheet Math"),
    ("sheet-text-regular", "stix2textregular/STIXTwoText-Regular.otf",
     [*ASCII, *LATIN1, *PUNCTUATION, *POWERS, *GREEK, *TICKS], ["kern", "liga"], "Sheet Text"),
    ("sheet-text-italic", "stix2textitalic/STIXTwoText-Italic.otf",
     [*ASCII, *LATIN1, *PUNCTUATION], ["kern", "liga"], "Sheet Text"),
    ("sheet-text-semibold", "stix2textsemibold/STIXTwoText-SemiBold.otf",
     [*ASCII, *LATIN1, *PUNCTUATION, *POWERS], ["kern", "liga"], "Sheet Text"),
    ("sheet-sans", None, [*ASCII, *LATIN1, *PUNCTUATION], ["kern", "liga"], "Sheet Sans"),
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
    """One form of each letter for indices and for indices of indices: the second is hardly used."""
    for lookup in font["GSUB"].table.LookupList.Lookup:
        for table in lookup.SubTable:
            table = getattr(table, "ExtSubTable", table)
            for glyph, forms in getattr(table, "alternates", {}).items():
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
