package pack_test

import (
	"fmt"

	"wetside/daemon/history/pack"
)

func Example() {
	samples := make([]pack.Sample, 900)
	for i := range samples {
		samples[i] = pack.Sample{At: int64(i) * 1000, Raw: 20.31, Grade: 2}
	}
	block, _, err := pack.Encode(nil, samples)
	fmt.Println(len(block), err)
	back, err := pack.Decode(nil, block)
	fmt.Println(len(back), back[899].At, back[899].Raw, err)
	// Output:
	// 45 <nil>
	// 900 899000 20.31 <nil>
}
