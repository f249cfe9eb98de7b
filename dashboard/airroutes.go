package dashboard

// airRoutes are the pages of the air, the alarms and the development clocks.
func (s *Server) airRoutes(mux *routes) {
	mux.HandleFunc("GET /rooms/{room}/air", s.inRoom(s.airPage))
	mux.HandleFunc("POST /rooms/{room}/air", s.inRoom(s.bathsPost))
	mux.HandleFunc("GET /rooms/{room}/air/events", s.inRoom(s.airEvents))
	mux.HandleFunc("GET /rooms/{room}/air/traverse", s.inRoom(s.traversePage))
	mux.HandleFunc("POST /rooms/{room}/air/traverse", s.inRoom(s.traversePost))
	mux.HandleFunc("GET /rooms/{room}/air/test", s.inRoom(s.tracerPage))
	mux.HandleFunc("POST /rooms/{room}/air/test", s.inRoom(s.tracerPost))
	mux.HandleFunc("GET /rooms/{room}/alarms", s.inRoom(s.alarmsPage))
	mux.HandleFunc("POST /rooms/{room}/alarms", s.inRoom(s.bathsPost))
	mux.HandleFunc("GET /rooms/{room}/alarms/events", s.inRoom(s.alarmEvents))
	mux.HandleFunc("GET /rooms/{room}/alarms/figures", s.inRoom(s.alarmFigures))
	mux.HandleFunc("GET /rooms/{room}/clock", s.inRoom(s.clockPage))
	mux.HandleFunc("POST /rooms/{room}/clock", s.inRoom(s.clockPost))
	mux.HandleFunc("GET /rooms/{room}/clock/events", s.inRoom(s.clockEvents))
}

// soundBox is what a page with sound needs: where a test is entered.
type soundBox struct {
	Room  string
	Look  look
	Token string
}

func (s *Server) soundBox(room string, l look) soundBox { return soundBox{room, l, newToken()} }
