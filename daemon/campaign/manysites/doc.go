// Package manysites measures what one centre carries: a site with two weeks of two evenings (17
// channels a second, an alarm every half an hour) sends its book, and its rows are copied under
// the numbers of other sites. It consists of tests alone:
//
//	go test ./daemon/campaign/manysites -v
//	WETSIDE_DRAW=1 WETSIDE_CAMPAIGN=5000 go test ./daemon/campaign/manysites -run Carries -v -timeout 2h
//
// The second needs 4 GB beside the temporary files and keeps what it finds in figures.csv, from
// which carries.svg is drawn. It was run on two processors that were busy with other programs,
// up to twenty for each, so the figures are processor time: of the program and of the database
// server together, with 32 MB of memory for its tables. The least of several times counts, for a
// message the mean of a hundred. The figures below are milliseconds, but for the disk.
//
//	sites                                            50      500     5000
//	disk, MB                                         35      282     2734
//	the page of the sites                           5.2     19.1     28.2
//	the weeks of a site                             8.3      6.6      2.9
//	the form of the report                          0.9      3.6     26.3
//	the report on a site over a week               96.3    106.8     45.6
//	the report on three sites over a week         266.8    357.0    155.8
//	asking the database how all sites stand         1.9     11.9     83.3
//	reading and verifying the book of a site      101.0    212.3     77.1
//	verifying every chain in SQL                   53.4    513.9   4523.6
//	taking a message with a record                  5.1      5.0      1.9
//
// With 500 sites and with 5,000 every page is there in less than 100 ms of processor time, but
// for reports, which take as long for each site as at the site itself: one is near that bound and
// three miss it. The page of the sites shows a hundred at a time, whatever their number. What
// grows with the sites is the disk (140 kB a site and evening), asking how all stand, which is
// done every five seconds, and reading the books: after a start 5,000 sites take six and a half
// minutes of a processor until each was read once, and until then the page says of a site that it
// is not known how it stands. While 5,000 sites work at once, one processor verifies each in that
// time instead of every minute; the page says when that was. Messages of 5,000 sites, one a
// minute, take a sixth to two fifths of a processor. What falls with more sites, such as the
// weeks, does so because the machine became less busy.
//
// A site sends 88 kB of an evening afterwards at once. Sent while it goes on it is about twice as
// much: see the test of the evening in wetside/daemon/uplink.
package manysites
