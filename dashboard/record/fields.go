package record

import "wetside/dashboard/web"

func evidenceField() web.Field { return web.Field{Name: "evidence", Label: "Evidence"} }
func whyField() web.Field      { return web.Field{Name: "why", Label: "Why it is entered only now"} }
