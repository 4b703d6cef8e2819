"""The theatre room: is every size and instrument on the shelf, in date on the day, and what to order by when.

Reading: `shelf.read_shelf`, `lists.read_recalls`, `lists.read_codes`, `theatre_list.read_theatre_list`,
`needs.read_needs`. Deciding: `allocate.allocate`, `recalled.check_recalls`, `order.order_lines`, `coverage`, `depth`.
Writing: `order_sheet`, `output`, `coverage_output`, and the pages in `fixplan.report.stock_html` and
`stock_coverage_html`. The rules and their origins stand in `rules`.
"""
