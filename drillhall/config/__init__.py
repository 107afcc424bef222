"""What a hall is told by options and environment: one frozen Settings, which the edges read."""

from drillhall.config.addresses import BucketSettings, MailSettings, is_loopback
from drillhall.config.settings import DEFAULT_PORT, PORTS_TRIED, Settings, asset_folder, default_data_folder, read_settings

__all__ = [
    "DEFAULT_PORT",
    "PORTS_TRIED",
    "BucketSettings",
    "MailSettings",
    "Settings",
    "asset_folder",
    "default_data_folder",
    "is_loopback",
    "read_settings",
]
