"""The state graph of a procedure drawn for people: in a terminal, as a picture, as Mermaid text."""
