package wake

var RowScale = rowScale
