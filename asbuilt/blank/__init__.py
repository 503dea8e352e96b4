"""A blank log for the crew, made from a job: a workbook for the clipboard, or a page for a tablet in the trench."""
