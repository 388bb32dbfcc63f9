package main

// scanWords are what a scanner may type in a count besides bins and shims.
var scanWords = []struct{ word, about string }{
	{"undo", "takes the last scan back"},
	{"drop", "leaves this bin out of the count"},
	{"end", "compares the count with the box"},
}
