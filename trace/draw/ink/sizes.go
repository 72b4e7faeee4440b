package ink

// Type that every picture shares.
var (
	Title = Bold(19)
	Body  = Regular(11.5)
	Small = Regular(9.5)
)
