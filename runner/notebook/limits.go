package notebook

import (
	"bytes"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"

	"workings/runner/diag"
)

const (
	// MaxNesting bounds the blocks that stand in one another; a list is two, itself and its item.
	MaxNesting = 1000
	// MaxEmphasis bounds the runs of *, _ and ~ in one paragraph: goldmark compares them all.
	MaxEmphasis = 1000
	// MaxImageNesting bounds the images in the descriptions of one another.
	MaxImageNesting = 32
	// MaxCells bounds the cells of all Markdown tables of one notebook: a short row is filled up.
	MaxCells = 200_000
	// maxEscapedPipes bounds \| in tables that hold code: goldmark compares them all.
	maxEscapedPipes = 2000
)

// limit reports once that a notebook is beyond a limit.
func (s *state) limit(code diag.Code, span diag.Span, message, label string) {
	if s.limits[code] {
		return
	}
	if s.limits == nil {
		s.limits = map[diag.Code]bool{}
	}
	s.limits[code] = true
	s.report(&diag.Problem{Code: code, Severity: diag.Error, Span: span, Message: message, Label: label,
		Hint: "split the notebook, or write this part more simply"})
}

// container is a block parser whose blocks hold others: quote, list, definition, footnote.
//
// Every line is offered to every open container, and goldmark keeps a record of each offer until
// they are all closed, so that a deep list before many blank lines fills any memory. The offers
// of a notebook are therefore limited by its length.
type container struct {
	parser.BlockParser
	inner bool // an item, which is refused only with its list
}

func (p container) Open(parent ast.Node, reader text.Reader, pc parser.Context) (ast.Node, parser.State) {
	s := stateOf(pc)
	if !p.inner && (len(pc.OpenedBlocks()) >= MaxNesting || s.offers <= 0) {
		if s.limits[codeNesting] {
			return nil, parser.NoChildren
		}
		line, seg := reader.PeekLine()
		number, pos := reader.Position()
		// Only a line that would have opened a block is beyond the limit.
		if node, _ := p.BlockParser.Open(parent, reader, pc); node != nil {
			at := seg.Start + min(len(line)-1, max(0, pc.BlockOffset()))
			s.limit(codeNesting, diag.Span{Start: at, End: at + 1},
				"lists, quotes and footnotes are nested more than 1,000 deep", "from here on they are text")
		}
		reader.SetPosition(number, pos)
		return nil, parser.NoChildren
	}
	return p.BlockParser.Open(parent, reader, pc)
}

func (p container) Continue(node ast.Node, reader text.Reader, pc parser.Context) parser.State {
	s := stateOf(pc)
	if s.offers--; s.offers <= 0 {
		_, seg := reader.PeekLine()
		s.limit(codeNesting, diag.Span{Start: seg.Start, End: seg.Start + 1},
			"too many lines stand in deeply nested lists, quotes and footnotes", "from here on they are text")
		return parser.Close
	}
	return p.BlockParser.Continue(node, reader, pc)
}

// offersFor is how often lines of a text may be offered to containers: a quote of the shortest
// lines needs one a byte, and small files may be as wild as they like.
func offersFor(length int) int { return 100_000 + 2*length }

// emphasis is a parser of *, _ or ~, of which a paragraph has only so many.
type emphasis struct{ parser.InlineParser }

func (p emphasis) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	line, seg := block.PeekLine()
	if line[0] == '~' && block.PrecendingCharacter() == '~' {
		return nil // goldmark would measure the whole run again at each of its characters
	}
	s := stateOf(pc)
	if s.emphasisIn != parent {
		s.emphasisIn, s.emphasisRuns = parent, 0
	}
	if s.emphasisRuns >= MaxEmphasis {
		s.limit(codeEmphasis, diag.Span{Start: seg.Start, End: seg.Start + 1},
			"a paragraph has more than 1,000 marks of emphasis", "from here to its end they are text")
		return nil
	}
	s.emphasisRuns++
	return p.InlineParser.Parse(parent, block, pc)
}

// tables is goldmark's table transformer, which fills short rows up to the width of the head.
type tables struct{ parser.ParagraphTransformer }

func newTables() tables { return tables{extension.NewTableParagraphTransformer()} }

// Transform implements parser.ParagraphTransformer.
func (t tables) Transform(node *ast.Paragraph, reader text.Reader, pc parser.Context) {
	lines := node.Lines()
	columns, rows, pipes := 0, 0, 0
	for i := range lines.Len() {
		seg := lines.At(i)
		line := seg.Value(reader.Source())
		if columns > 0 {
			rows++
		} else if i > 0 && isDelimiterRow(line) {
			columns = bytes.Count(line, []byte{'|'}) + 1
			rows = 2
		}
		pipes += bytes.Count(line, []byte(`\|`))
	}
	if columns == 0 {
		return // no line can be the one under a head
	}
	s := stateOf(pc)
	s.pipes += pipes
	if s.cells += columns * rows; s.cells > MaxCells || s.pipes > maxEscapedPipes {
		at := lines.At(0).Start
		s.limit(codeTableSize, diag.Span{Start: at, End: at + 1},
			"the Markdown tables of this notebook have more than 200,000 cells, or 2,000 escaped bars", "shown as text")
		return
	}
	t.ParagraphTransformer.Transform(node, reader, pc)
}

// isDelimiterRow reports whether a line may be the row of dashes under the head of a table.
func isDelimiterRow(line []byte) bool {
	for _, c := range line {
		if bytes.IndexByte([]byte("-|: \t\r\n"), c) < 0 {
			return false
		}
	}
	return bytes.IndexByte(line, '-') >= 0
}
