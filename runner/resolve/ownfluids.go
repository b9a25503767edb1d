package resolve

import (
	"workings/propsdb"
	"workings/runner/lang"
)

// ownFluid takes a fluid of the file that front matter names; own is false where it has none of the
// name. One that could not be built has been reported where it is given.
func (r *resolver) ownFluid(line *Line, n lang.Name, f *Fluid, datum propsdb.Datum) (own, ok bool) {
	if p := r.source.FluidFaults[n.Text]; p != nil {
		line.Problem = p
		return true, false
	}
	g := r.source.UserFluids[n.Text]
	if g == nil {
		return false, false
	}
	if datum != propsdb.ZeroKelvin {
		r.fail(line, CodeFluid, n.Loc, "%s is a fluid of the user's own, which counts from the zero that its data give", n.Text).
			hint("write fluid %s = %s", f.Name, n.Text)
		return true, false
	}
	f.Base, f.Datum, f.EntropyDatum = g, g.DatumID(), g.EntropyDatumID()
	return true, true
}

// mayBeOwn deals with a name that the database does not have and front matter explains.
func (r *resolver) mayBeOwn(line *Line, n lang.Name) bool {
	if r.source.UserFluids[n.Text] != nil || r.source.FluidFaults[n.Text] != nil {
		r.fail(line, CodeUnknownGas, n.Loc, "%s is a fluid of the user's own, and only gases of the database are mixed or burnt", n.Text).
			hint("give the mixture itself as a fluid of your own, with its molar mass and cp")
		return true
	}
	if r.source.NoFluids != nil {
		line.Problem = r.source.NoFluids
		return true
	}
	if near := r.near(n.Text, sortedKeys(r.source.UserFluids)); len(near) > 0 {
		r.fail(line, CodeUnknownGas, n.Loc, "neither the database nor the notebook's files of fluids have %s", n.Text).hint("did you mean %s?", orList(near))
		return true
	}
	return false
}
