package propsdb

// TableRow is one line of a gas table: what printed tables give at a
// temperature, in the units of Property.
type TableRow struct {
	T, H, U, So, Pr, Vr, Cp, K float64
}

// Table is a gas table at the temperatures given, K, in their order. The error
// is that of the first one outside the range.
func (f *Fluid) Table(ts []float64) ([]TableRow, error) {
	rows := make([]TableRow, len(ts))
	for i, t := range ts {
		s, err := f.StateT(t)
		if err != nil {
			return nil, err
		}
		row := &rows[i]
		row.T = t
		for _, cell := range [...]struct {
			q  Property
			to *float64
		}{{H, &row.H}, {U, &row.U}, {So, &row.So}, {Pr, &row.Pr}, {Vr, &row.Vr}, {Cp, &row.Cp}, {K, &row.K}} {
			if *cell.to, err = s.Get(cell.q); err != nil {
				return nil, err
			}
		}
	}
	return rows, nil
}
