package notebook

import "testing"

func TestSafeDestination(t *testing.T) {
	safe := []string{"", "#entry-12", "notes.md", "./a/b.md#x", "../b.md", "/a/b", "?q=1", "https://example.org/a?b=c:d",
		"HTTP://example.org", "mailto:a@example.org", "a%20b.md", "a/b:c", "100%", "#a:b", "https://example.org/?u=http://x", `a\_b.md`}
	unsafe := []string{"javascript:alert(1)", "JavaScript:x", "  javascript:x", "java\tscript:x", "java\nscript:x", "\x01javascript:x",
		"javascript&colon;x", "java&#115;cript:x", "java&#x73;cript:x", `javascript\:x`, "javascript%3Ax", "javascript%253Ax", "%6aavascript:x",
		"data:text/html,x", "vbscript:x", "file:///etc/passwd", "//host/x", "%2f%2fhost", `\\host\x`, `/\host`, "&#47;&#47;host",
		"blob:x", "ftp://x", "c:/x", "http:x", "https:", "http:///x", "a\u202eb", "a\u200bb", "java&Tab;script:x", "java&NewLine;script:x",
		"%25252525252525"}
	for _, d := range safe {
		if !SafeDestination([]byte(d)) {
			t.Errorf("%q is refused", d)
		}
	}
	for _, d := range unsafe {
		if SafeDestination([]byte(d)) {
			t.Errorf("%q is let through", d)
		}
	}
}
