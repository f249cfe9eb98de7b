package dashboard_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"

	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
)

func ExampleNew() {
	stage, err := viewtest.NewStage()
	if err != nil {
		fmt.Println(err)
		return
	}
	pages, err := dashboard.New(dashboard.Options{View: stage, Log: zap.NewNop(), Clock: stage.Clock})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer pages.Close()
	answer := httptest.NewRecorder()
	pages.ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "/healthz", nil))
	fmt.Print(answer.Code, " ", answer.Body)
	// Output: 200 ok
}
