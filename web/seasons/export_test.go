package seasons

import (
	"rigtally/analytics/season"
)

// Address is where a review stands under a path.
func Address(path, angler string, sharing season.Sharing) string {
	return query{angler: angler, Sharing: sharing}.url(path)
}
