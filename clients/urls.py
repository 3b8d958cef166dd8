from django.urls import path

from clients.views import clients

app_name = "clients"
urlpatterns = [
    path("clients/", clients.clients, name="clients"),
]
