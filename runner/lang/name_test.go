package lang

import (
	"strings"
	"testing"
)

func TestPrint(t *testing.T) {
	for _, c := range []struct {
		name string
		want Printed
		text string
		stem string
	}{
		// From the language's own description of names.
		{"T2s", Printed{Stem: "T", Sub: "2s"}, "T_2s", "T"},
		{"T_2s", Printed{Stem: "T", Sub: "2s"}, "T_2s", "T"},
		{"T₂ₛ", Printed{Stem: "T", Sub: "2s"}, "T_2s", "T"},
		{"w_net", Printed{Stem: "w", Sub: "net"}, "w_net", "w"},
		{"η_c", Printed{Stem: "η", Sub: "c"}, "η_c", "eta"},
		{"eta_c", Printed{Stem: "η", Sub: "c"}, "η_c", "eta"},
		{"ṁ", Printed{Stem: "m", Dot: true}, "ṁ", "mdot"},
		{"m\u0307", Printed{Stem: "m", Dot: true}, "ṁ", "mdot"},
		{"mdot", Printed{Stem: "m", Dot: true}, "ṁ", "mdot"},
		{"Q̇_in", Printed{Stem: "Q", Dot: true, Sub: "in"}, "Q̇_in", "Qdot"},
		{"Qdot_in", Printed{Stem: "Q", Dot: true, Sub: "in"}, "Q̇_in", "Qdot"},
		{"ΔT", Printed{Delta: true, Stem: "T"}, "ΔT", "DeltaT"},
		{"∆T", Printed{Delta: true, Stem: "T"}, "ΔT", "DeltaT"},
		{"DeltaT", Printed{Delta: true, Stem: "T"}, "ΔT", "DeltaT"},
		{"DeltaT_lm", Printed{Delta: true, Stem: "T", Sub: "lm"}, "ΔT_lm", "DeltaT"},
		{"Deltamdot2", Printed{Delta: true, Stem: "m", Dot: true, Sub: "2"}, "Δṁ_2", "Deltamdot"},
		{"Delta", Printed{Stem: "Δ"}, "Δ", "Delta"},
		{"Delta_h", Printed{Stem: "Δ", Sub: "h"}, "Δ_h", "Delta"},
		// Properties.
		{"so_2", Printed{Stem: "s°", Sub: "2"}, "s°_2", "so"},
		{"so2", Printed{Stem: "s°", Sub: "2"}, "s°_2", "so"},
		{"rho_1", Printed{Stem: "ρ", Sub: "1"}, "ρ_1", "rho"},
		{"ρ1", Printed{Stem: "ρ", Sub: "1"}, "ρ_1", "rho"},
		{"cp", Printed{Stem: "c", Sub: "p"}, "c_p", "cp"},
		{"c_p", Printed{Stem: "c", Sub: "p"}, "c_p", "cp"},
		{"cp_2", Printed{Stem: "c", Sub: "p,2"}, "c_p,2", "cp"},
		{"cp2", Printed{Stem: "c", Sub: "p,2"}, "c_p,2", "cp"},
		{"c_p2", Printed{Stem: "c", Sub: "p,2"}, "c_p,2", "cp"},
		{"cv_air", Printed{Stem: "c", Sub: "v,air"}, "c_v,air", "cv"},
		{"c_2", Printed{Stem: "c", Sub: "2"}, "c_2", "c"},
		{"c_pe", Printed{Stem: "c", Sub: "pe"}, "c_pe", "c"},
		{"pr_2", Printed{Stem: "pr", Sub: "2"}, "pr_2", "pr"},
		{"p_r", Printed{Stem: "p", Sub: "r"}, "p_r", "p"},
		// Others.
		{"bwr", Printed{Stem: "bwr"}, "bwr", "bwr"},
		{"eps", Printed{Stem: "ε"}, "ε", "epsilon"},
		{"ϵ", Printed{Stem: "ε"}, "ε", "epsilon"},
		{"µ_1", Printed{Stem: "μ", Sub: "1"}, "μ_1", "mu"},
		{"mu1", Printed{Stem: "μ", Sub: "1"}, "μ_1", "mu"},
		{"w_c_1", Printed{Stem: "w", Sub: "c,1"}, "w_c,1", "w"},
		{"T_", Printed{Stem: "T"}, "T", "T"},
		{"T__2", Printed{Stem: "T", Sub: "2"}, "T_2", "T"},
		{"T_alpha", Printed{Stem: "T", Sub: "α"}, "T_α", "T"},
		{"dot", Printed{Stem: "dot"}, "dot", "dot"},
		{"fueldot", Printed{Stem: "fueldot"}, "fueldot", "fueldot"},
		{"etadot", Printed{Stem: "η", Dot: true}, "η\u0307", "etadot"},
		{"Rho", Printed{Stem: "Rho"}, "Rho", "Rho"},
		{"Tₐ", Printed{Stem: "T", Sub: "a"}, "T_a", "T"},
		{"T2ₐ", Printed{Stem: "T", Sub: "2a"}, "T_2a", "T"},
		{"2s", Printed{Sub: "2s"}, "_2s", ""},
		{"", Printed{}, "", ""},
	} {
		got := Print(c.name)
		if got != c.want || got.Text() != c.text || (Name{Text: c.name}).Stem() != c.stem {
			t.Errorf("%s prints as %+v, %s, stem %s; want %+v, %s, %s", c.name, got, got.Text(), Name{Text: c.name}.Stem(), c.want, c.text, c.stem)
		}
	}
}

// Every Greek word has its letter, and back.
func TestGreek(t *testing.T) {
	for word := range strings.FieldsSeq(greekWords) {
		letter := greekLetter(word)
		if letter == "" || greekWord(letter) != word || greekLetter(letter) != letter {
			t.Errorf("%s ↔ %s ↔ %s", word, letter, greekWord(letter))
		}
	}
	for _, s := range []string{"", "x", "Alpha", "д"} {
		if greekLetter(s) != "" || greekWord(s) != "" {
			t.Errorf("%q is taken for Greek", s)
		}
	}
	for _, m := range [][2]string{{subscriptForms, subscriptPlain}, {dottedForms, dottedPlain}, {superscripts, "0123456789"}, {alikeGreek, alikeGreekTo}, {alikeCyril, alikeCyrilTo}} {
		if len([]rune(m[0])) != len([]rune(m[1])) {
			t.Errorf("%s and %s have not the same length", m[0], m[1])
		}
	}
}

func TestLookalikes(t *testing.T) {
	names := func(s string) (out []Name) {
		for f := range strings.FieldsSeq(s) {
			out = append(out, Name{Text: f})
		}
		return out
	}
	for _, c := range []struct{ names, want string }{
		{"T1 T_1 T2", ""},
		{"A_1 x Α_1", "A_1~Α_1"}, // Latin, Greek
		{"Τ1 T_1 T1 Т1", "Τ1~T_1 Τ1~Т1"},
		{"o ο", "o~ο"},
		{"ρ_1 p_1 ν v η n κ k α a", ""}, // side by side in the trade
		{"mu µ μ", ""},                  // one symbol
		{"К_1 K1", "К_1~K1"},            // Cyrillic, Latin
		{"\u212A1 K1", ""},              // the kelvin sign is the letter
		{"Гx Γx", "Гx~Γx"},
	} {
		var got []string
		for _, p := range Lookalikes(names(c.names)) {
			got = append(got, p.First.Text+"~"+p.Second.Text)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: %v, want %s", c.names, got, c.want)
		}
	}
}
