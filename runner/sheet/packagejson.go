package sheet

import (
	_ "embed"
	"encoding/json"
	"io"
	"math"

	"workings/runner/diag"
	"workings/runner/eval"
	"workings/runner/register"
	"workings/runner/resolve"
)

//go:embed package.schema.json
var packageSchema []byte

// PackageSchema is the JSON Schema of what PackageJSON writes.
func PackageSchema() []byte { return packageSchema }

type packageFile struct {
	Tool        string              `json:"tool"`
	Version     string              `json:"version"`
	Project     string              `json:"project,omitempty"`
	Sheets      []packageSheet      `json:"sheets"`
	Unread      []packageUnread     `json:"unread"`
	Uses        []packageUse        `json:"uses"`
	Inputs      []packageInput      `json:"inputs"`
	Differences []packageDifference `json:"differences"`
}

type packageSheet struct {
	File        string          `json:"file"`
	SHA256      string          `json:"sha256"`
	Page        string          `json:"page"`
	Number      string          `json:"number,omitempty"`
	Revision    string          `json:"revision,omitempty"`
	Title       string          `json:"title"`
	Date        string          `json:"date,omitempty"`
	Prepared    string          `json:"prepared,omitempty"`
	Checked     string          `json:"checked,omitempty"`
	Approved    string          `json:"approved,omitempty"`
	Checks      packageChecks   `json:"checks"`
	Errors      int             `json:"errors"`
	Cautions    int             `json:"cautions"`
	Assumptions int             `json:"assumptions"`
	Unconfirmed int             `json:"unconfirmed"`
	Overridden  int             `json:"overridden"`
	RestsOn     []string        `json:"rests_on"` // what is upstream and not well
	Found       []packageFound  `json:"found"`
	Answers     []packageAnswer `json:"answers"`
}

type packageChecks struct {
	Total int `json:"total"`
	Hold  int `json:"hold"`
	Fail  int `json:"fail"`
	Wait  int `json:"wait"`
}

type packageFound struct {
	Code    diag.Code `json:"code"`
	Line    int       `json:"line"`
	Column  int       `json:"column"`
	Message string    `json:"message"`
}

type packageNumber struct {
	SI    float64 `json:"si"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

type packageAnswer struct {
	Symbol string         `json:"symbol"`
	Entry  string         `json:"entry,omitempty"`
	Value  *packageNumber `json:"value"` // null where it has none
}

type packageUnread struct {
	File   string `json:"file"`
	Reason string `json:"reason"`
}

type packageUse struct {
	User   string          `json:"user"`
	Entry  string          `json:"entry"`
	Used   string          `json:"used"`
	As     string          `json:"as"`
	With   []packageGiven  `json:"with"`
	Values []packageHanded `json:"values"`
}

type packageGiven struct {
	Input string         `json:"input"`
	Value *packageNumber `json:"value"`
}

type packageHanded struct {
	Symbol string         `json:"symbol"`
	Entry  string         `json:"entry,omitempty"` // on the used sheet
	Value  *packageNumber `json:"value"`
}

type packageInput struct {
	File       string          `json:"file"`
	Entry      string          `json:"entry"`
	Line       int             `json:"line"`
	Symbol     string          `json:"symbol"`
	What       string          `json:"what,omitempty"`
	Value      *packageNumber  `json:"value"`
	Spread     *packageNumber  `json:"spread,omitempty"`
	Overridden bool            `json:"overridden,omitempty"`
	Sources    []packageSource `json:"sources"`
	Given      []packageBy     `json:"given"`
}

type packageSource struct {
	Label       string `json:"label"`
	Text        string `json:"text,omitempty"`
	Unconfirmed bool   `json:"unconfirmed,omitempty"`
}

type packageBy struct {
	User  string         `json:"user"`
	As    string         `json:"as"`
	Value *packageNumber `json:"value"`
}

type packageDifference struct {
	Symbol string       `json:"symbol"`
	Inputs []packageRef `json:"inputs"`
}

type packageRef struct {
	File  string `json:"file"`
	Entry string `json:"entry"`
}

func packageValue(v eval.Value, ok bool) *packageNumber {
	if !ok || math.IsNaN(v.Shown) || math.IsInf(v.Shown, 0) {
		return nil
	}
	return &packageNumber{SI: v.SI, Value: v.Shown, Unit: unitText(v)}
}

// PackageJSON writes the register of a package, who uses what, and every input, on one line.
func PackageJSON(w io.Writer, pkg *register.Package, o PackageOptions) error {
	out := packageFile{Tool: "workings", Version: o.Version, Project: pkg.Project, Sheets: []packageSheet{}, Unread: []packageUnread{}, Uses: []packageUse{}, Inputs: []packageInput{}, Differences: []packageDifference{}}
	for _, s := range pkg.Sheets {
		out.Sheets = append(out.Sheets, packageSheetOf(s))
		for _, u := range s.Uses {
			j := packageUse{User: s.Path, Entry: u.Entry.Number, Used: u.Used.Path, As: u.Name, With: []packageGiven{}, Values: []packageHanded{}}
			for _, g := range u.With {
				j.With = append(j.With, packageGiven{g.Name, packageValue(g.Value, g.OK)})
			}
			for _, v := range u.Values {
				j.Values = append(j.Values, packageHanded{v.Symbol.Name, v.Entry, packageValue(v.Value, v.OK)})
			}
			out.Uses = append(out.Uses, j)
		}
	}
	for _, u := range pkg.Unread {
		out.Unread = append(out.Unread, packageUnread{u.Path, u.Reason})
	}
	for _, in := range pkg.Inputs {
		out.Inputs = append(out.Inputs, packageInputOf(in))
	}
	for _, d := range pkg.Differences {
		j := packageDifference{Symbol: d.Inputs[0].Symbol.Name}
		for _, in := range d.Inputs {
			j.Inputs = append(j.Inputs, packageRef{in.Sheet.Path, in.Entry.Number})
		}
		out.Differences = append(out.Differences, j)
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(out)
}

func packageSheetOf(s *register.Sheet) packageSheet {
	f, st := &s.Doc.Front, &s.Standing
	j := packageSheet{File: s.Path, SHA256: Hash(s.Doc.File.Text), Page: s.Page, Number: s.Number(), Revision: s.Revision(), Title: s.Title,
		Date: f.Date.Text, Prepared: f.Prepared.Text, Checked: f.Checked.Text, Approved: f.Approved.Text,
		Checks: packageChecks{st.Checks, st.Holds, st.Fails, st.Waits}, Errors: st.Errors, Cautions: st.Cautions,
		Assumptions: st.Assumptions, Unconfirmed: st.Open, Overridden: st.Overridden,
		RestsOn: []string{}, Found: []packageFound{}, Answers: []packageAnswer{}}
	for _, up := range s.Upstream {
		j.RestsOn = append(j.RestsOn, up.Path)
	}
	for _, q := range s.Found {
		line, column := q.Position()
		j.Found = append(j.Found, packageFound{q.Code, line, column, q.Message})
	}
	for _, a := range s.Trace.Sheet.Answers {
		if a.Symbol == nil {
			continue
		}
		v, ok := s.Trace.Shown(a)
		j.Answers = append(j.Answers, packageAnswer{a.Symbol.Full(), entryOf(s, a.Symbol), packageValue(v, ok)})
	}
	return j
}

// entryOf is the number of the entry that gives a symbol its value.
func entryOf(s *register.Sheet, sym *resolve.Symbol) string {
	if sym.Line == nil {
		return ""
	}
	if e := s.Trace.Entry(sym.Line); e != nil {
		return e.Number
	}
	return ""
}

func packageInputOf(in *register.Input) packageInput {
	j := packageInput{File: in.Sheet.Path, Entry: in.Entry.Number, Line: typedLine(in.Line), Symbol: in.Symbol.Name, What: in.Described(),
		Value: packageValue(in.Value, in.OK), Overridden: in.Line.Overridden, Sources: []packageSource{}, Given: []packageBy{}}
	if in.Entry.Spread != nil {
		j.Spread = packageValue(*in.Entry.Spread, true)
	}
	for _, s := range in.Sources {
		j.Sources = append(j.Sources, packageSource{s.Label, s.Text, s.Open})
	}
	for _, g := range in.Given {
		j.Given = append(j.Given, packageBy{g.Use.User.Path, g.Use.Name, packageValue(g.Value, g.OK)})
	}
	return j
}
