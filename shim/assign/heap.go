package assign

// hold puts a holding of unknown bound into its bin's heap.
func (s *solver) hold(bin, id int32) {
	heap := append(s.held[bin], id)
	s.held[bin] = heap
	s.rise(heap, int32(len(heap)-1))
}

// drop removes the holding at the given place of the bin's heap.
func (s *solver) drop(bin, place int32) {
	heap := s.held[bin]
	last := int32(len(heap) - 1)
	moved := heap[last]
	s.held[bin] = heap[:last]
	if place == last {
		return
	}
	heap[place] = moved
	s.holdings[moved].place = place
	s.rise(heap[:last], place)
	s.sift(bin, s.holdings[moved].place)
}

// rise moves a holding up to its place by bound.
func (s *solver) rise(heap []int32, place int32) {
	id := heap[place]
	for place > 0 {
		parent := (place - 1) / 2
		if !s.holdings[id].bound.Less(&s.holdings[heap[parent]].bound) {
			break
		}
		heap[place] = heap[parent]
		s.holdings[heap[place]].place = place
		place = parent
	}
	heap[place] = id
	s.holdings[id].place = place
}

// sift moves a holding down to its place by bound.
func (s *solver) sift(bin, place int32) {
	heap := s.held[bin]
	id := heap[place]
	for {
		child := 2*place + 1
		if int(child) >= len(heap) {
			break
		}
		if int(child)+1 < len(heap) && s.holdings[heap[child+1]].bound.Less(&s.holdings[heap[child]].bound) {
			child++
		}
		if !s.holdings[heap[child]].bound.Less(&s.holdings[id].bound) {
			break
		}
		heap[place] = heap[child]
		s.holdings[heap[place]].place = place
		place = child
	}
	heap[place] = id
	s.holdings[id].place = place
}

// A label is what the search at hand knows of a bin: the distance to one more
// piece of it, and the holding whose row moves in last.
type label struct {
	distance Cost
	round    int32 // the search that the label belongs to
	by       int32 // a holding, or direct
	settled  bool
	place    int32 // in the queue, or None
	age      int32 // when it last got nearer
}

// queue is a binary heap of bins by distance. Of equal distances the latest
// comes first: paths then run on to an end instead of widening.
type queue struct {
	bins []int32
	age  int32
}

func (q *queue) reset() { q.bins, q.age = q.bins[:0], 0 }

// push puts the bin in, or moves it up where it is in already.
func (q *queue) push(bin int32, labels []label) {
	q.age++
	labels[bin].age = q.age
	place := labels[bin].place
	if place == None {
		place = int32(len(q.bins))
		q.bins = append(q.bins, bin)
	}
	for place > 0 {
		parent := (place - 1) / 2
		if !nearer(labels, bin, q.bins[parent]) {
			break
		}
		q.bins[place] = q.bins[parent]
		labels[q.bins[place]].place = place
		place = parent
	}
	q.bins[place] = bin
	labels[bin].place = place
}

// pop takes the nearest bin out.
func (q *queue) pop(labels []label) (bin int32, ok bool) {
	last := int32(len(q.bins) - 1)
	if last < 0 {
		return 0, false
	}
	top, moved := q.bins[0], q.bins[last]
	q.bins = q.bins[:last]
	if last == 0 {
		return top, true
	}
	place := int32(0)
	for {
		child := 2*place + 1
		if child >= last {
			break
		}
		if child+1 < last && nearer(labels, q.bins[child+1], q.bins[child]) {
			child++
		}
		if !nearer(labels, q.bins[child], moved) {
			break
		}
		q.bins[place] = q.bins[child]
		labels[q.bins[place]].place = place
		place = child
	}
	q.bins[place] = moved
	labels[moved].place = place
	return top, true
}

func nearer(labels []label, a, b int32) bool {
	if c := labels[a].distance.Compare(&labels[b].distance); c != 0 {
		return c < 0
	}
	return labels[a].age > labels[b].age
}
