"""The whole shop on one page, for whoever looks after it: what is due, what was in the way, what drifts.

`gather.shop_page` makes a `model.ShopPage` of the shop's files; `report` shows it. Nothing here is shown or printed.
"""
