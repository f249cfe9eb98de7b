package cards

type Fact struct{ Name, Text string }
