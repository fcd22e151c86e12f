from station_shop import job

__all__ = ["job"]
