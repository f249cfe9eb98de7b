// Package dashboard draws the pages: the red board of the wet side, the keeper's
// probes page, forms and charts. It knows a [View] and nothing of how the view
// comes about. Everything it serves is embedded; no page asks for anything outside.
package dashboard
