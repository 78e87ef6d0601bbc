package rehab

// Side is an ankle: Left, Right, or None where a side means nothing or is not known.
type Side string

// The two ankles, and no side.
const (
	None  Side = ""
	Left  Side = "left"
	Right Side = "right"
)

// Other returns the opposite ankle; None has none.
func (s Side) Other() Side {
	switch s {
	case Left:
		return Right
	case Right:
		return Left
	}
	return None
}

// Short is the side as written beside a value: L or R, empty for None.
func (s Side) Short() string {
	switch s {
	case Left:
		return "L"
	case Right:
		return "R"
	}
	return ""
}
