package truth

import "wetside/rules/fit"

// student is by how many standard errors a true value lies away at most, with a
// confidence such as 0.99 and so many degrees of freedom.
func student(confidence float64, freedom int) float64 {
	return fit.Student(confidence, float64(freedom))
}
