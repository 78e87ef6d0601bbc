//go:build !race

package outlook

const raced = false
