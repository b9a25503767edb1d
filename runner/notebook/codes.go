package notebook

import "workings/runner/diag"

// The problems this package finds.
const (
	codeFrontEnd    = diag.Code("front-matter-end")   // no closing ---
	codeFrontSyntax = diag.Code("front-matter")       // not YAML of the kind front matter uses
	codeFrontKey    = diag.Code("front-matter-key")   // a key the tool does not know
	codeFrontTwice  = diag.Code("front-matter-twice") // a key given twice
	codeFrontValue  = diag.Code("front-matter-value") // a value of the wrong kind
	codeFrontLimit  = diag.Code("front-matter-limit") // front matter too long or nested too deep
	codeFenceOpen   = diag.Code("fence-open")         // a fence never closed
	codeFenceWord   = diag.Code("fence-word")         // a fence word like one that is evaluated
	codeFootnote    = diag.Code("unknown-footnote")   // [^label] without a definition
	codeFootnoteDup = diag.Code("footnote-twice")     // a label defined twice
	codeValue       = diag.Code("prose-value")        // {…} that cannot be read
	CodeLink        = diag.Code("unsafe-link")        // a link that is not followed; its span is the address
	codeNesting     = diag.Code("limit-nesting")      // lists and quotes nested too deep
	codeEmphasis    = diag.Code("limit-emphasis")     // too many emphasis marks in a paragraph
	codeLinkLength  = diag.Code("limit-link-length")  // a link destination too long
	codeLinkExpand  = diag.Code("limit-references")   // link references expand to too much
	codeTableSize   = diag.Code("limit-table")        // Markdown tables with too many cells
)
