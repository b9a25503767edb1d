package runner_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
)

type tracedOrigins struct {
	Answers []struct {
		Symbol      string
		Unconfirmed []string
	}
	Sources []struct{ Kind, Name, Fluid, File, SHA256, Accuracy, Licence string }
}

func originsOf(t *testing.T, name string) (page string, tr tracedOrigins) {
	t.Helper()
	text := pageOf(t, name)
	if err := json.Unmarshal(traceElement.FindSubmatch(text)[1], &tr); err != nil {
		t.Fatal(err)
	}
	return string(text), tr
}

// An answer names the assumptions to be confirmed that it rests on, and no other.
func TestAnswersNameWhatIsUnconfirmed(t *testing.T) {
	for name, want := range map[string]map[string][]string{
		"demos/reheated-plant.md": {"eta_th": {"similar-unit"}, "bwr": {"similar-unit"}, "mdot_f": {"similar-unit", "methane"}},
		"demos/side-by-side.md": {
			"Deltaeta":    {"bypass", "regenerated.similar-unit", "bypassed.similar-unit"},
			"Deltamdot_f": {"bypass", "regenerated.similar-unit", "regenerated.methane", "bypassed.similar-unit", "bypassed.methane"},
		},
		"verification/v14-regenerator.md": {"eta": {}},
	} {
		page, tr := originsOf(t, name)
		met := 0
		for _, a := range tr.Answers {
			labels, ok := want[a.Symbol]
			if !ok {
				continue
			}
			met++
			if !slices.Equal(a.Unconfirmed, labels) {
				t.Errorf("%s: %s rests on %v, want %v", name, a.Symbol, a.Unconfirmed, labels)
			}
			if len(labels) > 0 && !strings.Contains(page, "to be confirmed</span></th>") {
				t.Errorf("%s: the answers do not say so", name)
			}
		}
		if met != len(want) {
			t.Errorf("%s: not all the answers %v among %v", name, want, tr.Answers)
		}
	}
}

// Every file that a sheet rests on is named with its hash, and data that the tool carries with what
// is known of their accuracy and licence.
func TestSourcesCarryHashes(t *testing.T) {
	hash := func(file string) string {
		text, err := os.ReadFile("../notebooks/guide/" + file)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(text)
		return hex.EncodeToString(sum[:])
	}
	for notebook, files := range map[string][]string{
		"guide/11-data.md":   {"water_density.csv", "superheated_steam.csv"},
		"guide/05-fluids.md": {"own_fluids.yaml"},
		"guide/10-use.md":    {"stage.md"},
	} {
		page, tr := originsOf(t, notebook)
		for _, f := range files {
			if !strings.Contains(page[strings.Index(page, `id="Sources"`):], "sha256 "+hash(f)) {
				t.Errorf("%s: the sources do not give the hash of %s", notebook, f)
			}
			if !slices.ContainsFunc(tr.Sources, func(s struct{ Kind, Name, Fluid, File, SHA256, Accuracy, Licence string }) bool {
				return s.SHA256 == hash(f)
			}) {
				t.Errorf("%s: the trace does not give the hash of %s", notebook, f)
			}
		}
	}
	_, tr := originsOf(t, "demos/combined-cycle.md")
	carried := 0
	for _, s := range tr.Sources {
		if s.Kind == "property-data" && len(s.SHA256) == 64 {
			carried++
			if s.Accuracy == "" || s.Licence == "" {
				t.Errorf("%+v", s)
			}
		}
	}
	if carried < 3 {
		t.Errorf("%d sources of property data", carried)
	}
}

// Every state of a sheet is read by hand once in its property evidence.
func TestEveryStateHasItsEvidence(t *testing.T) {
	for _, name := range []string{"demos/plain-cycle.md", "demos/reheated-plant.md", "demos/combined-cycle.md", "demos/side-by-side.md", "guide/05-fluids.md", "guide/17-water.md"} {
		page := string(pageOf(t, name))
		tr, err := traceOf([]byte(page))
		if err != nil {
			t.Fatal(err)
		}
		evidence := page[strings.Index(page, `<section id="Evidence"`):]
		evidence = evidence[:strings.Index(evidence, "</section>")]
		states := 0
		for _, l := range tr.Lines {
			if l.Kind == "state" && l.Status == "done" {
				states++
				if !strings.Contains(evidence, `<a href="#e`+l.ID+`">`) {
					t.Errorf("%s: state of entry %s is not read", name, l.ID)
				}
			}
		}
		if n := strings.Count(evidence, `<p class="ev`); n != states || states == 0 {
			t.Errorf("%s: %d states, %d read", name, states, n)
		}
	}
}
