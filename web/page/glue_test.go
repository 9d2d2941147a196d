package page_test

import (
	"testing"

	"rigtally/web/page"
)

func TestUnitsStayWithTheirNumbers(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		`<p>5¾ in, 1 h 25 min and 12 °C</p>`:                     "<p>5¾\u00a0in, 1\u00a0h 25\u00a0min and 12\u00a0°C</p>",
		`<p title="5 in">Of 8 inside 3 hours</p>`:                `<p title="5 in">Of 8 inside 3 hours</p>`,
		`<script>x = "5 in"</script><textarea>5 in</textarea>`:   `<script>x = "5 in"</script><textarea>5 in</textarea>`,
		`2 min <option value="a">5 in</option> 3 ft <b unclosed`: "2\u00a0min <option value=\"a\">5 in</option> 3\u00a0ft <b unclosed",
	} {
		if got := string(page.Glue([]byte(in))); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}
