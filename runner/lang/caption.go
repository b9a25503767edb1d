package lang

// CaptionOf is a statement's caption: for an assumption its basis, and nothing where there is none.
func CaptionOf(s Stmt) Caption {
	switch s := s.(type) {
	case *Input:
		return s.Caption
	case *Correlation:
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

// captioned reads the lines of a fence that is one statement with a caption: that of its first line
// and of the // lines before it. The statement's place becomes that of its lines. Each line is given
// to read with its number from 0; bad says that one of them cannot be read.
func (p *parser) captioned(at *At, caption *Caption, read func(n, lo, hi int) bool) (lines int, bad bool) {
	if len(p.lines) > 0 {
		at.Loc = p.lines[0].span().Join(p.lines[len(p.lines)-1].span())
	}
	for p.at < len(p.lines) {
		l := &p.lines[p.at]
		if l.from == l.to {
			p.at++
			switch {
			case l.refused:
				bad = true
			case l.heading() && lines == 0:
				*caption = joinCaptions(*caption, l.caption)
			case l.heading():
				p.captionHere(l.caption)
			}
			continue
		}
		lo, hi, c := p.statement()
		switch {
		case c.Text == "":
		case lines == 0:
			*caption = joinCaptions(*caption, c)
		default:
			p.captionHere(c)
		}
		if !p.tidy(lo, hi) || !read(lines, lo, hi) {
			bad = true
		}
		lines++
	}
	p.failed = false
	return lines, bad
}
