"""One file a chapter, over small seasons counted by hand."""
