package sheet

// The records of the trace, as schema.json describes them. Every number is in full.
type (
	// jsonHead stands before the symbols and lines of a trace, jsonTail after them.
	jsonHead struct {
		File     string `json:"file"`
		SHA256   string `json:"sha256"`
		Tool     string `json:"tool"`
		Version  string `json:"version"`
		Title    string `json:"title"`
		Number   string `json:"number,omitempty"`
		Revision string `json:"revision,omitempty"`
		Ambient  number `json:"ambient,omitempty"` // Pa, from which gauge pressures count
	}
	jsonTail struct {
		Checks  []jsonCheck  `json:"checks"`
		Answers []jsonAnswer `json:"answers"`
		Assumed []jsonAssume `json:"assumptions"`
		Routes  []jsonRoute  `json:"routes,omitempty"`
		Cycles  []jsonCycle  `json:"cycles,omitempty"`
		Studies []jsonStudy  `json:"studies"`
		// Sensitivities are how the answers follow the inputs.
		Sensitivities *jsonSensitivities `json:"sensitivities,omitempty"`
		Problems      []jsonProblem      `json:"problems"`
		Sources       []any              `json:"sources"`
		Units         members            `json:"units"`
	}
	jsonValue struct {
		SI    number `json:"si"`
		Value number `json:"value"`
		Unit  string `json:"unit"`
	}
	jsonSolve struct {
		Unknowns  []string    `json:"unknowns"`
		Lo        []jsonValue `json:"lo"`
		Hi        []jsonValue `json:"hi"`
		Extreme   string      `json:"extreme,omitempty"`
		Residuals []jsonValue `json:"residuals"`
		Steps     int         `json:"steps"`
		Runs      int         `json:"runs"`
	}
	jsonLookup struct {
		Table   string      `json:"table"`
		Key     string      `json:"key"`
		Column  string      `json:"column"`
		At      number      `json:"at"`
		Row     int         `json:"row"`
		Value   number      `json:"value"`
		Between *jsonBlocks `json:"between,omitempty"`
	}
	// jsonBlocks are the blocks of a table by two properties that a look-up read between.
	jsonBlocks struct {
		Key    string      `json:"key"`
		At     number      `json:"at"`
		Blocks []jsonBlock `json:"blocks"`
	}
	jsonBlock struct {
		At      number       `json:"at"`
		Corners []jsonCorner `json:"corners"`
		Value   number       `json:"value"`
	}
	jsonCorner struct {
		Row   int    `json:"row"`
		File  string `json:"file,omitempty"`
		Line  int    `json:"line"`
		At    number `json:"at"`
		Value number `json:"value"`
	}
	jsonCheck struct {
		ID       string     `json:"id"`
		Kind     string     `json:"kind"`
		Sheet    string     `json:"sheet,omitempty"`
		File     string     `json:"file,omitempty"`
		Line     int        `json:"line"`
		Text     string     `json:"text"`
		Op       string     `json:"op,omitempty"`
		Left     *jsonValue `json:"left"`
		Right    *jsonValue `json:"right"`
		Lo       *jsonValue `json:"lo,omitempty"`
		Hi       *jsonValue `json:"hi,omitempty"`
		Passed   *bool      `json:"passed"`
		Verdict  string     `json:"verdict"`
		Margin   *jsonValue `json:"margin"`
		Accepted string     `json:"accepted,omitempty"`
	}
	jsonAnswer struct {
		Symbol string  `json:"symbol"`
		SI     *number `json:"si"`
		Value  *number `json:"value"`
		Unit   string  `json:"unit"`
		Line   int     `json:"line"`
		Entry  string  `json:"entry,omitempty"`
		// Uncertainty is the combined standard uncertainty, and From what it comes from.
		Uncertainty *jsonUncertainty `json:"uncertainty,omitempty"`
		Unconfirmed []string         `json:"unconfirmed,omitempty"`
	}
	jsonUncertainty struct {
		jsonValue
		From []jsonPart `json:"from"`
	}
	jsonPart struct {
		Input string `json:"input"`
		SI    number `json:"si"`
		Share number `json:"share"`
	}
	// jsonRoute is the sheet by another model of a fluid.
	jsonRoute struct {
		Fluid     string            `json:"fluid"`
		Model     string            `json:"model"`
		Tolerance *number           `json:"tolerance"`
		Answers   []jsonRouteAnswer `json:"answers"`
	}
	jsonRouteAnswer struct {
		Symbol   string  `json:"symbol"`
		SI       *number `json:"si"`
		Value    *number `json:"value"`
		Unit     string  `json:"unit"`
		Relative *number `json:"relative"`
		Exceeds  bool    `json:"exceeds"`
		Accepted string  `json:"accepted,omitempty"`
	}
	jsonAssume struct {
		Label     string   `json:"label"`
		Text      string   `json:"text"`
		Basis     string   `json:"basis"`
		ToConfirm bool     `json:"to_confirm"`
		Line      int      `json:"line"`
		UsedIn    []string `json:"used_in"`
	}
	jsonProblem struct {
		Code     string        `json:"code"`
		Severity string        `json:"severity"`
		File     string        `json:"file,omitempty"`
		Line     int           `json:"line"`
		Column   int           `json:"column"`
		Message  string        `json:"message"`
		Hint     string        `json:"hint"`
		Related  []jsonRelated `json:"related"`
		WaitsFor []string      `json:"waits_for"`
	}
	jsonRelated struct {
		File    string `json:"file,omitempty"`
		Line    int    `json:"line"`
		Column  int    `json:"column"`
		Message string `json:"message"`
	}
)
