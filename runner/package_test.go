package runner

import (
	"bytes"
	"encoding/json"
	"html"
	"io"
	"io/fs"
	"maps"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"workings/runner/diag"
)

const packageDir = "../testdata/packages"

// buildPackage evaluates the notebooks below a folder.
func buildPackage(t *testing.T, fsys fs.FS) *Package {
	t.Helper()
	var members []Member
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, ".md") {
			return err
		}
		r, err := Build(fsys, p, options())
		members = append(members, Member{Path: p, Result: r, Err: err})
		return nil
	})
	if err != nil || len(members) == 0 {
		t.Fatalf("%d notebooks, %v", len(members), err)
	}
	return NewPackage(members)
}

// Every folder of testdata/packages has a fault that no sheet shows alone; beside it stands what is
// printed.
func TestPackageProblems(t *testing.T) {
	entries, err := os.ReadDir(packageDir)
	if err != nil {
		t.Fatal(err)
	}
	orphans(t, packageDir+"/*.txt", ".txt", "")
	folders := 0
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		folders++
		dir := packageDir + "/" + e.Name()
		t.Run(e.Name(), func(t *testing.T) {
			var b bytes.Buffer
			for _, s := range buildPackage(t, os.DirFS(dir)).Sheets {
				b.WriteString("== " + s.Path + "\n")
				for _, p := range s.Problems {
					checkProblem(t, p)
					if err := diag.Print(&b, p, diag.Style{}); err != nil {
						t.Fatal(err)
					}
				}
			}
			golden(t, dir+".txt", b.Bytes())
		})
	}
	if folders < 4 {
		t.Errorf("only %d folders", folders)
	}
}

// A fault is reported once, at its own sheet, however many sheets rest on it; each of those says that
// it does. With inputs of its own a user answers for what they bring about.
func TestFaultsAreReportedOnce(t *testing.T) {
	p := buildPackage(t, os.DirFS(packageDir+"/rests"))
	said := map[string]int{}
	for _, s := range p.Sheets {
		for _, q := range s.Problems {
			said[s.Path+" "+string(q.Code)]++
		}
	}
	want := map[string]int{
		"site/air.md check-fails": 1, "site/air.md dimension": 1,
		"fan.md used-sheet-fails": 1, "plant.md used-sheet-fails": 1,
		"plant.md check-fails": 1, // of stage.md, which holds by itself
	}
	for k, n := range want {
		if said[k] != n {
			t.Errorf("%s: %d times, want %d", k, said[k], n)
		}
		delete(said, k)
	}
	if len(said) > 0 {
		t.Errorf("reported besides: %v", said)
	}
	plant := p.Sheet("plant.md")
	if len(plant.Upstream) != 1 || plant.Upstream[0].Path != "site/air.md" { // fan.md has no fault of its own
		t.Errorf("upstream of plant.md: %v", plant.Upstream)
	}
}

// Where all problems of a folder are listed, a circle of sheets is one fault and so is a broken file of
// figures, whoever finds it; on the page of each sheet it stands all the same.
func TestFaultsOfAllSheets(t *testing.T) {
	for _, dir := range []string{"broken", "rests"} {
		p := buildPackage(t, os.DirFS(packageDir+"/"+dir))
		said := map[string]int{}
		faults := p.Faults()
		for _, s := range p.Sheets {
			for _, q := range faults[s] {
				said[string(q.Code)]++
			}
			if len(s.Problems) == 0 && strings.Contains("a.md b.md d.md f.md", s.Path) {
				t.Errorf("the page of %s does not tell its fault", s.Path)
			}
		}
		want := map[string]int{"use-cycle": 1, "data-table": 1, "use": 1, "used-sheet-fails": 2}
		if dir == "rests" {
			want = map[string]int{"check-fails": 2, "dimension": 1, "used-sheet-fails": 2} // the second check by the user's inputs
		}
		if !maps.Equal(said, want) {
			t.Errorf("%s: %v, want %v", dir, said, want)
		}
	}
}

// A sheet without inputs is given none, and what can be done about it is said.
func TestNoInputsToGive(t *testing.T) {
	p := buildPackage(t, fstest.MapFS{
		"a.md": {Data: []byte("```calc\nx = 1 m\n```\n")},
		"b.md": {Data: []byte("```calc\nuse \"a.md\" as a with T = 300 K\ny = a.x\n```\n")},
	})
	problems := p.Sheet("b.md").Problems
	if len(problems) == 0 || !strings.HasPrefix(problems[0].Hint, "it has no inputs: ") {
		t.Errorf("%+v", problems)
	}
}

// An input stands in the list as its author wrote it: 0.9 % is no 0.9000000000000001 %.
func TestInputsAsWritten(t *testing.T) {
	list := string(buildPackage(t, os.DirFS("../notebooks/demos/holm-skerry")).Inputs())
	for _, want := range []string{",loss_in,0.9,%,", ",T_a,8,°C,"} {
		if !strings.Contains(list, want) {
			t.Errorf("the list does not hold %q", want)
		}
	}
	if strings.Contains(list, "00000000") {
		t.Errorf("digits that nobody wrote:\n%s", list)
	}
}

// The register of a folder in which there is no notebook yet says what is missing.
func TestRegisterOfNothing(t *testing.T) {
	var b bytes.Buffer
	if err := NewPackage(nil).Index(&b, false); err != nil || !strings.Contains(b.String(), "There is no sheet here yet") {
		t.Errorf("%v, %s", err, b.String())
	}
}

// pages are all files of a package, by name.
func pages(t *testing.T, p *Package) map[string]string {
	t.Helper()
	out := map[string]string{}
	write := func(name string, to func(io.Writer) error) {
		var b, again bytes.Buffer
		if err := to(&b); err != nil {
			t.Fatal(err)
		}
		if err := to(&again); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("%s: two renderings differ, %v", name, err)
		}
		out[name] = b.String()
	}
	write(IndexPage, func(w io.Writer) error { return p.Index(w, true) })
	write(CombinedPage, func(w io.Writer) error { return p.Combined(w, nil) })
	for _, s := range p.Sheets {
		write(s.Page, func(w io.Writer) error { return p.HTML(w, s) })
	}
	return out
}

var (
	anyID   = regexp.MustCompile(` id="([^"]*)"`)
	anyHref = regexp.MustCompile(` href="([^"]*)"`)
	naming  = regexp.MustCompile(` aria-(?:labelledby|describedby)="([^"]*)"`)
)

// links holds that whatever a page links to is there, file and place, and that no id stands twice.
func links(t *testing.T, all map[string]string, least int) {
	t.Helper()
	ids := map[string]map[string]bool{}
	for name, page := range all {
		ids[name] = map[string]bool{}
		for _, m := range anyID.FindAllStringSubmatch(page, -1) {
			if ids[name][m[1]] {
				t.Errorf("%s: the id %s stands twice", name, m[1])
			}
			ids[name][m[1]] = true
		}
	}
	found := 0
	for name, page := range all {
		for _, m := range anyHref.FindAllStringSubmatch(page, -1) {
			to, err := url.Parse(html.UnescapeString(m[1]))
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if to.Scheme != "" {
				continue
			}
			found++
			file := name
			if to.Path != "" {
				file = path.Join(path.Dir(name), to.Path)
			}
			if all[file] == "" {
				t.Errorf("%s: %s leads to no file", name, m[1])
			} else if to.Fragment != "" && !ids[file][to.Fragment] {
				t.Errorf("%s: %s leads to no place", name, m[1])
			}
			if name == CombinedPage && to.Path != "" {
				t.Errorf("%s leads out of the document: %s", name, m[1])
			}
		}
		for _, m := range naming.FindAllStringSubmatch(page, -1) {
			for _, id := range strings.Fields(m[1]) {
				if !ids[name][id] {
					t.Errorf("%s: nothing has the id %s", name, id)
				}
			}
		}
	}
	if found < least {
		t.Errorf("only %d links", found)
	}
}

// Whatever a page of a package links to inside the package is there, file and place; no id stands
// twice on a page.
func TestPackageLinks(t *testing.T) {
	for _, dir := range []string{"../notebooks/demos/holm-skerry", "../notebooks/demos", "../notebooks/guide", packageDir + "/rests", packageDir + "/superseded", packageDir + "/differs", packageDir + "/broken"} {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			all := pages(t, buildPackage(t, os.DirFS(dir)))
			links(t, all, 20)
		})
	}
}

// A value taken from another sheet leads to its line there; a sheet alone keeps its lines on its page.
func TestValuesLeadToTheirLines(t *testing.T) {
	p := buildPackage(t, os.DirFS("../notebooks/demos/holm-skerry"))
	all := pages(t, p)
	for page, wants := range map[string][]string{
		"boiler.html": {`<a href="turbine.html#e18">entry 18</a>`, `<a href="turbine.html">`, `<a href="index.html">Register of all sheets</a>`, `<a href="site.html#A1">HS-201 A1</a>`},
		// With an input given here the value is another: its lines stay.
		"part-load.html": {`<a href="#epart.18">entry 18</a>`, `id="epart.18"`, `<a href="turbine.html#e18">entry 18</a>`},
		CombinedPage:     {`<a href="#Sheet2.e18">entry 18</a>`, `<article id="Sheet2"`, `@page Sheet2{`},
		IndexPage:        {`<a href="boiler.html">HS-203</a>`, `href="turbine.html#e18"`, `1120</`},
	} {
		for _, want := range wants {
			if !strings.Contains(all[page], want) {
				t.Errorf("%s lacks %s", page, want)
			}
		}
	}
	if strings.Contains(all["boiler.html"], `id="egt.`) {
		t.Error("lines that stand on another page are repeated")
	}
	var alone bytes.Buffer
	if err := p.results[p.Sheet("boiler.md")].HTML(&alone); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(alone.String(), `id="egt.18"`) || strings.Contains(alone.String(), "turbine.html") {
		t.Error("the sheet alone has lost its used lines, or leads to a page that is not there")
	}
}

// What the sheet says of itself in a package is what it rests on, too.
func TestHeadsNameWhatTheyRestOn(t *testing.T) {
	all := pages(t, buildPackage(t, os.DirFS(packageDir+"/rests")))
	for page, want := range map[string]string{
		"fan.html":   `<a href="site/air.html">B-010</a>: 1 <a href="site/air.html#Problems">error</a>, 1 <a href="site/air.html#Checks">check fails</a>`,
		"plant.html": `<a href="site/air.html">B-010</a>: 1 `,
	} {
		if !strings.Contains(all[page], want) {
			t.Errorf("%s lacks %s", page, want)
		}
	}
	if strings.Contains(all["site/air.html"], `class="status rests"`) {
		t.Error("a sheet that uses none rests on another")
	}
}

// The file for programs keeps to its schema and says what the pages say.
func TestPackageJSON(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(PackageSchema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("package.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("package.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{"../notebooks/demos/holm-skerry", "../notebooks/demos", packageDir + "/rests", packageDir + "/differs", packageDir + "/superseded"} {
		var b bytes.Buffer
		if err := buildPackage(t, os.DirFS(dir)).JSON(&b); err != nil {
			t.Fatal(err)
		}
		validate(t, schema, b.Bytes())
	}
	var b bytes.Buffer
	if err := buildPackage(t, os.DirFS("../notebooks/demos/holm-skerry")).JSON(&b); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Sheets []struct {
			Number  string
			RestsOn []string `json:"rests_on"`
		}
		Uses []struct {
			User, Used string
			With       []struct{ Input string }
			Values     []struct{ Symbol, Entry string }
		}
		Inputs []struct {
			Symbol string
			Given  []struct {
				User  string
				Value struct{ SI float64 }
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Sheets) != 5 || got.Sheets[0].Number != "HS-201" || len(got.Uses) != 6 || len(got.Inputs) != 20 {
		t.Errorf("%d sheets, %d uses, %d inputs", len(got.Sheets), len(got.Uses), len(got.Inputs))
	}
	given := 0
	for _, in := range got.Inputs {
		for _, g := range in.Given {
			given++
			if in.Symbol != "T3" || g.User != "part-load.md" || g.Value.SI != 1120 {
				t.Errorf("%s is given %v by %s", in.Symbol, g.Value.SI, g.User)
			}
		}
	}
	if given != 1 {
		t.Errorf("%d inputs are given another value", given)
	}
}

// Names of files and what a front matter holds reach the pages of a package escaped, and links to files
// with odd names lead to them.
func TestPackageHostile(t *testing.T) {
	evil := `</style><script>alert(1)</script>" onclick="x`
	front := "---\ntitle: '" + evil + "'\nnumber: '" + evil + "'\nrevision: '" + evil + "'\nproject: '" + evil + "'\nprepared: '" + evil + "'\n---\n"
	fence := func(kind, text string) string { return "```" + kind + "\n" + text + "\n```\n" }
	used := front + fence("inputs", "T = 300 K // "+evil+" [^a]") + fence("assume", "x-y: "+evil+" // to confirm "+evil) +
		fence("calc", "b = 2*T\ncheck b > 900 K") + fence("answers", "b // "+evil) + "\n[^a]: " + evil + "\n"
	names := []string{"a b#c?%41.md", "x:y.md", "d&q/é\"<i>.md"}
	fsys := fstest.MapFS{
		names[0]: {Data: []byte(used)},
		names[1]: {Data: []byte(front + fence("calc", "use \"d&q/é\\\"<i>.md\" as one") + "[to it](a%20b%23c%3F%2541.md)\n")},
		names[2]: {Data: []byte(front + fence("inputs", "T = 310 K // "+evil+" [^a]") + fence("calc", "b = T") + "\n[^a]: " + evil + "\n")},
		"m.md":   {Data: []byte(front + fence("calc", "use \"a b#c?%41.md\" as u\nuse \"a b#c?%41.md\" as v with T = 500 K\nz = u.b + v.b"))},
	}
	p := buildPackage(t, fsys)
	if len(p.Sheets) != 4 {
		t.Fatalf("%d sheets", len(p.Sheets))
	}
	all := pages(t, p)
	for name, page := range all {
		text, _, _ := strings.Cut(page, `<script type="application/json"`)
		for _, bad := range []string{"<script>alert", "</style><script", `" onclick="`} {
			if strings.Contains(text, bad) {
				t.Errorf("%s holds %s", name, bad)
			}
		}
	}
	for name, want := range map[string]string{
		"m.html":   `href="a%20b%23c%3F%2541.html#e2"`,
		"x:y.html": `href="a%20b%23c%3F%2541.html"`,
		IndexPage:  `href="./x:y.html"`,
	} {
		if !strings.Contains(all[name], want) {
			t.Errorf("%s does not lead to %s", name, want)
		}
	}
	links(t, all, 20)
}
