"""Addresses of stock: the storeroom, its lots, what is done with them."""

from django.urls import path

from inventory.views import dispatch, harvest, lot, lot_acts, price, receive, records, storeroom, trace, undo

app_name = "inventory"
urlpatterns = [
    path("storeroom/", storeroom.storeroom, name="storeroom"),
    path("scan/", storeroom.scan, name="scan"),
    path("storeroom/receive/", receive.receive, name="receive"),
    path("storeroom/received/", lot.received, name="received"),
    path("storeroom/adopt/", lot_acts.adopt, name="adopt"),
    path("storeroom/harvest/", harvest.harvest, name="harvest"),
    path("storeroom/lots/<str:code>/", lot.lot, name="lot"),
    path("storeroom/lots/<str:code>/decide/", lot.decide, name="decide"),
    path("storeroom/lots/<str:code>/move/", lot_acts.move, name="move"),
    path("storeroom/lots/<str:code>/count/", lot_acts.count, name="count"),
    path("storeroom/lots/<str:code>/write-off/", lot_acts.write_off, name="write-off"),
    path("storeroom/lots/<str:code>/measure/", lot_acts.measure, name="measure"),
    path("storeroom/lots/<str:code>/price/", price.price, name="price"),
    path("storeroom/undo/<int:pk>/", undo.undo, name="undo"),
    path("storeroom/goods/", records.goods, name="goods"),
    path("storeroom/goods/add/", records.goods_add, name="goods-add"),
    path("storeroom/goods/<int:pk>/", records.goods_change, name="goods-change"),
    path("storeroom/places/", records.places, name="places"),
    path("storeroom/places/add/", records.place_add, name="place-add"),
    path("storeroom/places/<int:pk>/", records.place_change, name="place-change"),
    path("storeroom/parties/", records.parties, name="parties"),
    path("storeroom/parties/add/", records.party_add, name="party-add"),
    path("storeroom/parties/<int:pk>/", records.party_change, name="party-change"),
    path("trace/", trace.trace_start, name="trace-start"),
    path("trace/<str:code>/", trace.trace_lot, name="trace"),
    path("accounts/dispatches/", dispatch.dispatches, name="dispatches"),
    path("accounts/dispatches/new/", dispatch.dispatch_new, name="dispatch-new"),
    path("accounts/dispatches/<int:pk>/", dispatch.dispatch, name="dispatch"),
    path("accounts/dispatches/<int:pk>/return/", dispatch.dispatch_return, name="dispatch-return"),
]
