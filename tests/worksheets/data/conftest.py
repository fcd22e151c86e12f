from station_shop import job, run

__all__ = ["job", "run"]
