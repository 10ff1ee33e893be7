package report

// A methods is what the page of methods is given.
type methods struct {
	head
}

func (s *site) methodsPage() (any, error) {
	m := methods{}
	m.head = head{Title: "How each figure is worked out", Lead: "Each method, its assumption and its source."}
	return m, nil
}
