package model

import "shimwright/shim"

// A Topic is what a question is about.
type Topic uint8

// The topics, in the order in which they are asked.
const (
	Name Topic = iota
	Layout
	Cylinders
	Banks
	FiringOrder
	FiringIntervals
	Valves // of a side, for each cylinder
	DriveEnd
	IntakeSide
	Timing // of a side, degrees of the crank
	Access
	DepressOffset
	Camshafts
	Units     // of clearances
	ShimUnits // of sizes
	State
	BeforeLine // one line of what to do before measuring
	Turns
	Celsius // the window to measure in
	Closer  // whether the side's valves have one
	Limits
	Aim
	RockerRatio
	MeasuredAt
	Build // whether there are figures for fresh builds
	Allowance
	AllowanceDoubt
	StemGrind
	ShimProud
	Diameter
	SameShims // whether the exhaust closers take the intake closers' shims
	RangeFrom
	RangeTo
	RangeStep
	RangePrice
	Marks
	GaugeStep
	GaugeLeaf
	GaugeStamp
	GaugeMic
	Whole // the model: only read back
	Mend  // which of the answers is wrong, by its number in [Walk.Trail]
)

// A Part is the part of the engine that a question is about; its zero value
// where there is only one.
type Part struct {
	Side   shim.Side
	Closer bool
	Range  int // of the sizes on sale, or of the lines before measuring, counted from 0
}

// A Question is what a walk asks for.
type Question struct {
	Topic
	Part
	// ReadBack asks whether what was typed of the topic is right, instead of for
	// a figure: it is found in [Walk.Engine]. Doubt is what looks wrong with it,
	// nil for nothing.
	ReadBack bool
	Doubt    *shim.Hinted
	// Usual is what an empty answer stands for: what was typed before, or what a
	// layout begins with. Where it is empty an answer is needed, unless the
	// question is optional.
	Usual    string
	Optional bool
	Choices  []string // the words to choose from; empty for figures

	from int // read back: the first answer that it is about
}

// topicOf tells questions apart, whatever stood in the answers before them.
type topicOf struct {
	Topic
	Part
}

// An Answered is a question with the answer that was taken.
type Answered struct {
	Question
	Answer string // empty for none
}

// An Event is what came of an answer.
type Event interface{ event() }

type (
	// Taken says that the answer is kept and the next question can be asked.
	Taken struct{}
	// Again says that what was read back is not right and is asked once more.
	Again struct{}
	// First says that there is no question before this one.
	First struct{}
	// Help asks for what may be typed, List for what is known so far.
	Help struct{}
	List struct{}
	// Refused says why an answer was not taken. The hint may be empty.
	Refused shim.Hinted
)

func (Taken) event()   {}
func (Again) event()   {}
func (First) event()   {}
func (Help) event()    {}
func (List) event()    {}
func (Refused) event() {}
