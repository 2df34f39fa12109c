"""Volumes, depths and hours of pumping: Q t = d A, and gross from net."""

M3_PER_MM_HA = 10.0  # 1 mm on 1 ha
M3_PER_DAY_PER_L_S = 86.4
SECONDS_PER_HOUR = 3600.0
LITRES_PER_M3 = 1000.0


def volume_m3(depth_mm: float, area_ha: float) -> float:
    """Turn a depth of water over an area into cubic metres."""
    return M3_PER_MM_HA * depth_mm * area_ha


def depth_mm(flow_l_s: float, hours: float, area_ha: float) -> float:
    """Turn a flow kept up for some hours into a depth over an area, mm."""
    return flow_l_s * SECONDS_PER_HOUR * hours / LITRES_PER_M3 / (M3_PER_MM_HA * area_ha)


def hours(depth_mm: float, area_ha: float, flow_l_s: float) -> float:
    """Tell how long a flow must run to put a depth on an area, h."""
    return volume_m3(depth_mm, area_ha) * LITRES_PER_M3 / (flow_l_s * SECONDS_PER_HOUR)


def gross_mm(net_mm: float, efficiency: float) -> float:
    """Tell what must be pumped so that a net depth reaches the soil: net / efficiency."""
    return net_mm / efficiency
