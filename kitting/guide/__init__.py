"""The guide: pages in Markdown, which viewers of files and the program both show."""
