package seasons

import "rigtally/analytics"

// Address is where a review stands under a path.
func Address(path, angler string, sharing analytics.Sharing) string {
	return query{angler: angler, Sharing: sharing}.url(path)
}
