package web

import (
	"net/http"
	"strconv"
)

// seenIn is the version that a page was shown with and sends back with what is to
// be done to it; 0, any, when it says none.
func seenIn(r *http.Request) int {
	n, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		return 0
	}
	return n
}
