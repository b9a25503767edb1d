package lang

// CaptionOf is a statement's caption: for an assumption its basis, and nothing where there is none.
func CaptionOf(s Stmt) Caption {
	switch s := s.(type) {
	case *Input:
		return s.Caption
	case *Define:
		return s.Caption
	case *Fluid:
		return s.Caption
	case *State:
		return s.Caption
	case *Check:
		return s.Caption
	case *CallStmt:
		return s.Caption
	case *Solve:
		return s.Caption
	case *Until:
		return s.Caption
	case *Use:
		return s.Caption
	case *Accept:
		return s.Caption
	case *Method:
		return s.Caption
	case *Data:
		return s.Caption
	case *Table:
		return s.Caption
	case *Cycle:
		return s.Caption
	case *Component:
		return s.Caption
	case *Flow:
		return s.Caption
	case *DeadState:
		return s.Caption
	case *Chart:
		return s.Caption
	case *Study:
		return s.Caption
	case *Answer:
		return s.Caption
	case *Heading:
		return s.Caption
	case *Assume:
		return s.Basis
	}
	return Caption{}
}
