package record

import "wetside/dashboard/web"

var (
	evidenceField = web.Field{Name: "evidence", Label: "Evidence"}
	whyField      = web.Field{Name: "why", Label: "Why it is entered only now"}
)
