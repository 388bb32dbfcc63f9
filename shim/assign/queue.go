package assign

// A label is what the search for a path knows of a bin.
type label struct {
	distance Cost  // to one more piece of it, price included
	round    int32 // the search that the label belongs to
	by       int32 // who moves in last
	before   int32 // the bin that it comes from, or direct
	settled  bool
	place    int32 // in the queue, or None
	age      int32 // when it last got nearer
}

// direct stands for the row being placed, where a bin or a holding is named
// otherwise.
const direct = -2

// queue is a binary heap of bins by distance. Of equal distances the latest
// comes first: paths then run on to an end instead of widening.
type queue struct {
	label   []label // by bin
	bins    []int32
	settled []int32
	round   int32
	age     int32
}

// reset begins a search.
func (q *queue) reset() {
	q.round++
	q.bins, q.settled, q.age = q.bins[:0], q.settled[:0], 0
}

// offer labels the bin with a path, unless it knows one as near.
func (q *queue) offer(bin, by, before int32, distance *Cost) {
	l := &q.label[bin]
	if l.round == q.round {
		if l.settled || !distance.Less(&l.distance) {
			return
		}
	} else {
		*l = label{round: q.round, place: None}
	}
	l.distance, l.by, l.before = *distance, by, before
	q.push(bin)
}

// next settles the nearest bin, unless that is as far as the limit or there
// is none.
func (q *queue) next(limit *Cost) (bin int32, ok bool) {
	if len(q.bins) == 0 || !q.label[q.bins[0]].distance.Less(limit) {
		return None, false
	}
	bin = q.pop()
	q.label[bin].settled = true
	q.settled = append(q.settled, bin)
	return bin, true
}

// push puts the bin in, or moves it up where it is in already.
func (q *queue) push(bin int32) {
	q.age++
	q.label[bin].age = q.age
	place := q.label[bin].place
	if place == None {
		place = int32(len(q.bins))
		q.bins = append(q.bins, bin)
	}
	for place > 0 {
		parent := (place - 1) / 2
		if !q.nearer(bin, q.bins[parent]) {
			break
		}
		q.put(q.bins[parent], place)
		place = parent
	}
	q.put(bin, place)
}

// pop takes the nearest bin out.
func (q *queue) pop() int32 {
	last := int32(len(q.bins) - 1)
	top, moved := q.bins[0], q.bins[last]
	q.bins = q.bins[:last]
	if last == 0 {
		return top
	}
	place := int32(0)
	for {
		child := 2*place + 1
		if child >= last {
			break
		}
		if child+1 < last && q.nearer(q.bins[child+1], q.bins[child]) {
			child++
		}
		if !q.nearer(q.bins[child], moved) {
			break
		}
		q.put(q.bins[child], place)
		place = child
	}
	q.put(moved, place)
	return top
}

func (q *queue) put(bin, place int32) {
	q.bins[place] = bin
	q.label[bin].place = place
}

func (q *queue) nearer(a, b int32) bool {
	x, y := &q.label[a], &q.label[b]
	if c := x.distance.Compare(&y.distance); c != 0 {
		return c < 0
	}
	return x.age > y.age
}
