package notebook

import (
	"regexp"
	"strconv"
	"strings"
)

// Uncertainty is how the uncertainties of the inputs are carried to the answers.
type Uncertainty struct {
	Order   int // of the law of propagation: 1 or 2
	Samples int // of a Monte Carlo; 0 where none is asked for
	Seed    uint64
}

// Limits of the samples of a Monte Carlo.
const (
	MinSamples = 1_000
	MaxSamples = 10_000_000
)

// usualSamples are taken where their number is not said.
const usualSamples = 1_000_000

var monteCarlo = regexp.MustCompile(`^monte carlo(?: ([0-9][0-9,]*)(?: samples)?)?(?: seed ([0-9]+))?$`)

// ReadUncertainty reads "first order", "second order", "monte carlo" or "monte carlo 200000 seed 7".
// wrong says what is wrong with it.
func ReadUncertainty(text string) (u Uncertainty, wrong string) {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	switch text {
	case "first order":
		return Uncertainty{Order: 1}, ""
	case "second order":
		return Uncertainty{Order: 2}, ""
	}
	u = Uncertainty{Order: 1}
	m := monteCarlo.FindStringSubmatch(text)
	if m == nil {
		return u, "an uncertainty is found by `first order`, `second order` or `monte carlo`"
	}
	u.Samples = usualSamples
	var err error
	if m[1] != "" {
		if u.Samples, err = strconv.Atoi(strings.ReplaceAll(m[1], ",", "")); err != nil || u.Samples < MinSamples || u.Samples > MaxSamples {
			return Uncertainty{Order: 1}, "a Monte Carlo has from 1,000 to 10,000,000 samples"
		}
	}
	if m[2] != "" {
		if u.Seed, err = strconv.ParseUint(m[2], 10, 64); err != nil {
			return Uncertainty{Order: 1}, "a seed is a whole number below 2^64"
		}
	}
	return u, ""
}
