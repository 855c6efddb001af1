"""The guide: pages in Markdown, shown in the dashboard and by a command."""
