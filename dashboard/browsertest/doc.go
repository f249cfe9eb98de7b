// Package browsertest holds the tests that draw every page in a real browser.
// They run with the build flag "browser" and need Chromium; without the flag
// there is nothing here.
package browsertest
