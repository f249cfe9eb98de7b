package people

import "wetside/dashboard/web"

func nameField() web.Field { return web.Field{Name: "name", Label: "Name"} }
func roleField() web.Field { return web.Field{Name: "role", Label: "Role"} }
