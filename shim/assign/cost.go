package assign

// Width is the number of criteria in a cost.
const Width = 10

// A Cost is a vector of criteria, the most important first. Costs are compared
// in order: the first criterion in which two differ decides.
//
// Sums must not overflow: with entries below 10^12 in size and 10^6 rows, the
// entries of any path or price stay below 10^18, inside an int64.
type Cost [Width]int64

// Compare is -1, 0 or 1 as c is less than, equal to or greater than d.
func (c *Cost) Compare(d *Cost) int {
	for i := range c {
		if c[i] != d[i] {
			if c[i] < d[i] {
				return -1
			}
			return 1
		}
	}
	return 0
}

// Less reports whether c comes before d.
func (c *Cost) Less(d *Cost) bool {
	for i := range c {
		if c[i] != d[i] {
			return c[i] < d[i]
		}
	}
	return false
}

// Add adds d to c, n times.
func (c *Cost) Add(d *Cost, n int) {
	for i := range c {
		c[i] += d[i] * int64(n)
	}
}

func (c *Cost) add(d *Cost) {
	for i := range c {
		c[i] += d[i]
	}
}

// lessSum reports whether c and d together come before limit.
func lessSum(c, d, limit *Cost) bool {
	for i := range c {
		if sum := c[i] + d[i]; sum != limit[i] {
			return sum < limit[i]
		}
	}
	return false
}

func (c *Cost) plus(d *Cost) (sum Cost) {
	for i := range c {
		sum[i] = c[i] + d[i]
	}
	return sum
}

func (c *Cost) minus(d *Cost) (difference Cost) {
	for i := range c {
		difference[i] = c[i] - d[i]
	}
	return difference
}
