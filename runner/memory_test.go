package runner

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"workings/runner/diag"
)

// TestMemoryChangesNothing edits the demos at random, as an author does and as a stray hand does, and
// builds every version twice: with what the versions before have left behind, and from nothing.
func TestMemoryChangesNothing(t *testing.T) {
	demos, err := filepath.Glob("../notebooks/demos/*.md")
	if err != nil || len(demos) == 0 {
		t.Fatal("no demos", err)
	}
	fsys := fstest.MapFS{"long.md": {Data: []byte(bigNotebook(60))}}
	names := []string{"long.md"}
	for _, path := range demos {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, filepath.Base(path))
		fsys[filepath.Base(path)] = &fstest.MapFile{Data: text}
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(7, uint64(len(name))))
			memory := &Memory{}
			text := string(fsys[name].Data)
			good := text
			defer func() { fsys[name] = &fstest.MapFile{Data: []byte(good)} }()
			for step := range 8 {
				if step > 0 {
					text = edited(random, text)
				}
				if step%4 == 3 {
					text = good
				}
				fsys[name] = &fstest.MapFile{Data: []byte(text)}
				o := options()
				cold := told(t, fsys, name, o)
				o.Memory = memory
				if warm := told(t, fsys, name, o); warm != cold {
					t.Fatalf("version %d differs with a memory:\n%s\nwithout:\n%s\nof\n%s", step, warm, cold, text)
				}
			}
		})
	}
}

// told is all that a build has to say of a notebook.
func told(t *testing.T, fsys fstest.MapFS, name string, o Options) string {
	t.Helper()
	r, err := Build(fsys, name, o)
	if err != nil {
		return err.Error()
	}
	var b bytes.Buffer
	for _, write := range []func(io.Writer) error{r.HTML, r.JSON} {
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.Markdown(&b); err != nil {
		fmt.Fprintln(&b, err)
	}
	for _, p := range r.Problems() {
		if err := diag.Print(&b, p, diag.Style{}); err != nil {
			t.Fatal(err)
		}
	}
	return b.String()
}

// edited changes a text in one place.
func edited(random *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	i := random.IntN(len(lines))
	switch random.IntN(6) {
	case 0:
		lines = append(lines[:i], lines[i+1:]...)
	case 1:
		lines = append(lines[:i], append([]string{lines[random.IntN(len(lines))]}, lines[i:]...)...)
	case 2:
		if line := []rune(lines[i]); len(line) > 0 {
			k := random.IntN(len(line))
			lines[i] = string(line[:k]) + string(line[k+1:])
		}
	default: // a figure
		for range lines {
			if k := strings.IndexAny(lines[i], "123456789"); k >= 0 {
				lines[i] = lines[i][:k] + fmt.Sprint(random.IntN(120)) + lines[i][k+1:]
				break
			}
			i = (i + 1) % len(lines)
		}
	}
	return strings.Join(lines, "\n")
}

// What a notebook uses may change while it does not itself.
func TestMemoryOfWhatIsUsed(t *testing.T) {
	fsys := fstest.MapFS{}
	write := func(name, text string) { fsys[name] = &fstest.MapFile{Data: []byte(text)} }
	write("main.md", fence("calc", `use "part.md" as part`, "y = 2*part.x"))
	write("part.md", fence("calc", "x = 1 kW // $a^2$"))
	o, memory := options(), &Memory{}
	for _, part := range []string{"x = 1 kW // $a^2$", "x = 3 kW // $a^2$", "x = 3 kW // $a^3$", "x = 3 kW + // $a$", "x = 1 kW // $a^2$"} {
		write("part.md", fence("calc", part))
		o.Memory = nil
		cold := told(t, fsys, "main.md", o)
		o.Memory = memory
		if warm := told(t, fsys, "main.md", o); warm != cold {
			t.Errorf("with %q used, and a memory:\n%s\nwithout:\n%s", part, warm, cold)
		}
	}
}
