"""Files opened by what they are, within bounds: text, workbooks, Parquet; where the table stands in them."""
