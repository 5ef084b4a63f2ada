"""Charts to colour in and plots of colours, drawn by matplotlib."""
