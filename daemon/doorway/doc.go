// Package doorway stands between the network and the pages: the certificate, how
// many connections and requests one address may have, and under which names the
// pages may be asked for.
package doorway
