package runner

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// shipped are the notebooks that come with the tool, by path below notebooks/.
func shipped(t *testing.T) []string {
	t.Helper()
	var out []string
	err := fs.WalkDir(os.DirFS("../notebooks"), ".", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasSuffix(p, ".md") {
			out = append(out, p)
		}
		return err
	})
	if err != nil || len(out) < 40 {
		t.Fatalf("%d notebooks, %v", len(out), err)
	}
	return out
}

// Every notebook that comes with the tool evaluates, all its checks hold, its page is
// well-formed, and two renderings are the same bytes.
func TestShippedNotebooks(t *testing.T) {
	schema := compileSchema(t)
	for _, name := range shipped(t) {
		t.Run(name, func(t *testing.T) {
			r, err := Build(os.DirFS("../notebooks"), name, options())
			if err != nil {
				t.Fatal(err)
			}
			if r.ExitCode() != ExitWell {
				t.Errorf("exit %d\n%s", r.ExitCode(), printed(t, r))
			}
			var page, again, trace bytes.Buffer
			if err := r.HTML(&page); err != nil {
				t.Fatal(err)
			}
			if err := r.JSON(&trace); err != nil {
				t.Fatal(err)
			}
			validate(t, schema, trace.Bytes())
			r2, err := Build(os.DirFS("../notebooks"), name, options())
			if err != nil {
				t.Fatal(err)
			}
			if err := r2.HTML(&again); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(page.Bytes(), again.Bytes()) {
				t.Error("two renderings differ")
			}
			text := page.String()
			for _, bad := range []string{"<script src", "<link rel=\"stylesheet\" href=\"http", "url(http", "src=\"http", "/work/", "/tmp/"} {
				if strings.Contains(text, bad) {
					t.Errorf("the page reaches outside itself: %s", bad)
				}
			}
		})
	}
}

func compileSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("trace.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("trace.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func validate(t *testing.T, s *jsonschema.Schema, trace []byte) {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(trace))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(doc); err != nil {
		t.Errorf("the trace breaks its schema: %v", err)
	}
	if bytes.Count(bytes.TrimSpace(trace), []byte("\n")) != 0 {
		t.Error("the trace is not one line")
	}
}

func TestProblemTracesKeepTheSchema(t *testing.T) {
	schema := compileSchema(t)
	entries, err := os.ReadDir(problemDir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".md") {
			continue
		}
		r, err := Build(os.DirFS(problemDir), e.Name(), options())
		if err != nil {
			t.Fatal(err)
		}
		var trace bytes.Buffer
		if err := r.JSON(&trace); err != nil {
			t.Fatal(err)
		}
		validate(t, schema, trace.Bytes())
	}
}

var published = regexp.MustCompile(`(?m)^(check .*? == )([0-9.]+(?:e-?[0-9]+)?)(.*)$`)

// Every check of a verification notebook can fail: with its published figure moved by a tenth,
// that check, and no error, is what the run reports.
func TestVerificationCanFail(t *testing.T) {
	tried := 0
	for _, name := range shipped(t) {
		if !strings.HasPrefix(name, "verification/") {
			continue
		}
		b, err := os.ReadFile("../notebooks/" + name)
		if err != nil {
			t.Fatal(err)
		}
		text := string(b)
		for _, m := range published.FindAllStringSubmatchIndex(text, -1) {
			var v float64
			if _, err := fmt.Sscan(text[m[4]:m[5]], &v); err != nil {
				t.Fatal(err)
			}
			broken := text[:m[4]] + fmt.Sprint(v*1.1+0.1) + text[m[5]:]
			r, err := Build(fstest.MapFS{name: {Data: []byte(broken)}}, name, options())
			if err != nil {
				t.Fatal(err)
			}
			tried++
			if r.ExitCode() != ExitChecks || !bytes.Contains(printed(t, r), []byte("misses by")) {
				t.Errorf("%s: %s with %v: exit %d\n%s", name, text[m[2]:m[5]], v*1.1+0.1, r.ExitCode(), printed(t, r))
			}
		}
	}
	if tried < 60 {
		t.Errorf("only %d published figures found", tried)
	}
}

var pair = regexp.MustCompile("(?s)(`{3,})problem\n(.*?)\n`{3,}\n\n(`{3,})printed\n(.*?)`{3,}\n")

// The guide shows faulty notebooks and what the tool prints for them. Both stay true.
func TestGuideShowsWhatIsPrinted(t *testing.T) {
	pairs := 0
	for _, name := range shipped(t) {
		file := "../notebooks/" + name
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		out := pair.ReplaceAllFunc(b, func(m []byte) []byte {
			pairs++
			g := pair.FindSubmatch(m)
			r := guideBuild(t, string(g[2])+"\n")
			var p bytes.Buffer
			p.Write(printed(t, r))
			return []byte(string(g[1]) + "problem\n" + string(g[2]) + "\n" + string(g[1]) + "\n\n" + string(g[3]) + "printed\n" + p.String() + string(g[3]) + "\n")
		})
		if bytes.Equal(out, b) {
			continue
		}
		golden(t, file, out)
	}
	if pairs < 20 {
		t.Errorf("only %d pairs in the guide", pairs)
	}
}

// guideBuild evaluates a notebook of the guide with the guide's other files beside it.
func guideBuild(t *testing.T, text string) *Result {
	t.Helper()
	var files []string
	entries, err := os.ReadDir("../notebooks/guide")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		b, err := os.ReadFile("../notebooks/guide/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, e.Name(), string(b))
	}
	return build(t, text, files...)
}

// The trace names every value that a reader needs: each line's result is there by symbol.
func TestTraceHoldsResults(t *testing.T) {
	r, err := Build(os.DirFS("../notebooks"), "demos/reheated-plant.md", options())
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := r.JSON(&b); err != nil {
		t.Fatal(err)
	}
	var trace struct {
		File    string
		SHA256  string
		Symbols map[string]struct {
			SI   float64 `json:"si"`
			Unit string
		}
		Lines []struct {
			ID, Kind, Expression, Substituted string
			Results                           []struct{ Symbol string }
		}
		Checks  []struct{ Verdict string }
		Answers []any
	}
	if err := json.Unmarshal(b.Bytes(), &trace); err != nil {
		t.Fatal(err)
	}
	if len(trace.SHA256) != 64 || len(trace.Symbols) < 60 || len(trace.Answers) < 5 || len(trace.Checks) < 5 {
		t.Errorf("trace: sha %q, %d symbols, %d answers, %d checks", trace.SHA256, len(trace.Symbols), len(trace.Answers), len(trace.Checks))
	}
	for name, s := range trace.Symbols {
		sym := r.Trace.Sheet.Symbol("", name)
		if sym == nil {
			continue // of a used sheet
		}
		if v, ok := r.Trace.Value(sym); !ok || v.SI != s.SI {
			t.Errorf("%s is %v in the trace, %v on the sheet", name, s.SI, v.SI)
		}
	}
}
