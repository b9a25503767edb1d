package main

import (
	"io"
	"os"
	"sync"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"

	"workings/runner/diag"
)

// patience is how long a notebook may take before a terminal is told how far its studies are.
const patience = 400 * time.Millisecond

// progress shows on a terminal how far long studies are, a bar each, and nothing elsewhere. Several
// notebooks may be evaluated at once.
type progress struct {
	w    io.Writer // nil where it shows nothing
	lock sync.Mutex
	all  *mpb.Progress
	bars map[string]*mpb.Bar
}

// newProgress shows nothing where w is no terminal.
func newProgress(w io.Writer) *progress {
	if f, ok := w.(*os.File); !ok || !isatty.IsTerminal(f.Fd()) {
		return &progress{}
	}
	return &progress{w: w}
}

// of is what a notebook tells from now on; nil where nobody looks.
func (p *progress) of(notebook string) func(study string, done, total int) {
	if p.w == nil {
		return nil
	}
	begun := time.Now()
	return func(study string, done, total int) {
		if time.Since(begun) < patience {
			return
		}
		p.lock.Lock()
		defer p.lock.Unlock()
		p.show(diag.Visible(notebook)+" "+diag.Visible(study), done, total)
	}
}

func (p *progress) show(title string, done, total int) {
	if p.all == nil {
		p.all = mpb.New(mpb.WithOutput(p.w), mpb.WithWidth(40))
		p.bars = map[string]*mpb.Bar{}
	}
	b := p.bars[title]
	if b == nil {
		b = p.all.AddBar(int64(total), mpb.BarRemoveOnComplete(),
			mpb.PrependDecorators(decor.Name(title+" ")), mpb.AppendDecorators(decor.CountersNoUnit("%d of %d points")))
		p.bars[title] = b
	}
	b.SetCurrent(int64(done))
}

// print takes the bars away, prints, and lets them come back.
func (p *progress) print(text func()) {
	p.lock.Lock()
	defer p.lock.Unlock()
	if p.all != nil {
		for _, b := range p.bars {
			b.Abort(true)
		}
		p.all.Wait()
		p.all = nil
	}
	text()
}
