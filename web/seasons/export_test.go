package seasons

import (
	"net/url"

	"rigtally/analytics/season"
	"rigtally/inquiry"
)

// Address is where a review stands under a path.
func Address(path, angler string, sharing season.Sharing) string {
	v := url.Values{"angler": {angler}}
	if sharing.WithoutNames {
		v.Set("names", "out")
	}
	if sharing.BlurWaters {
		v.Set("waters", "blurred")
	}
	q, _ := inquiry.Read(params(), v)
	return q.URL(path)
}
