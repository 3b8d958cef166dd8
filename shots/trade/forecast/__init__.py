"""Days left and odds: the forecast of a production, from its history and a seed.

`forecast(history, seed)` gives the answer. It believes (`beliefs`, `pace`), draws futures from
what it believes (`futures`), and reads the days left from them (`engine`).
"""

from shots.trade.forecast.engine import forecast
from shots.trade.forecast.exchange import answer_to_json, history_from_json
from shots.trade.forecast.history import Answer, History, HistoryError

__all__ = ["Answer", "History", "HistoryError", "answer_to_json", "forecast", "history_from_json"]
